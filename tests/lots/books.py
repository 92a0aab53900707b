"""A small hand-made book as CSV texts: every table, and odd text in every cell that may have it."""

import csv
import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import transaction
from hypothesis import strategies as st

from lots import csvbook

U = "00000000-0000-4000-8000-"
AT = "2026-03-{:02}T10:00:00+00:00"

BOOK = {
    "crops": [
        "group,genus,roots_like",
        "rex begonia,Begonia,",
        '"=cane, ""odd""",,cane begonia',
        "'quoted,Plectranthus,",
    ],
    "methods": [
        "method,source_part,pieces_per_source,needs_shoot,pieces_per_hour,how_to,cut_like",
        'leaf wedge,leaf,6,yes,120,"=one vein,\nat least",',
        "tip,stem,,no,,,tip cutting",
    ],
    "potsizes": [
        "pot_size,diameter_cm,pieces_per_pot,least_struck",
        "7 cm,7,1,1",
        "10½ cm,10.5,3,2",
    ],
    "places": ["place,walk_order", "A1,1", "@B2,2"],
    "people": [
        "username,name,initials,role",
        "ana,Ana Müller-Łęcka,AM,grower",
        "bo,Bo,B,manager",
    ],
    "varieties": [
        "code,group,genus,species,hybrid,cultivar,trade_name,protected,licence,note",
        "V1,rex begonia,Begonia,,yes,Green Hour,,no,,",
        'V2,"=cane, ""odd""",Begonia,rex,no,,TRADE ×,yes,L-77,"two\nlines; and a\ttab"',
        "-V3,'quoted,Plectranthus,,no,,,no,,'=1+1",
    ],
    "sessions": [
        "session,day,led_by,disinfectant",
        "S1,2026-03-02,ana,alcohol 70 %",
        "S2,2030-01-07,,",
    ],
    "lots": [
        (
            "code,session,variety,method,planned_units,pieces_per_unit,direct_pot_size,medium,"
            "hormone,flat,place,stuck_on,stuck_units,stuck_by,note"
        ),
        "7K3QFY,S1,V1,leaf wedge,48,1,,peat,,F1,A1,2026-03-02,40,ana,",
        "9XYZAH,S1,V2,tip,20,3,10½ cm,,IBA,F1,@B2,2026-03-02,20,bo,+note",
        "0B1CDF,S2,V1,tip,12,1,,,,,,,,,planned",
        "2M4PVH,S1,-V3,tip,12,1,,,,,A1,,0,,never stuck",
    ],
    "stockplants": [
        "code,variety,origin,from_lot,supplier,since,place,health,pieces_per_cut,rest_weeks,plants",
        "P1,V1,bought,,a nursery,2020-05-01,A1,sound,10,6,3",
        "P2,V2,own,9XYZAH,,2026-09-01,,watch,,0,1",
    ],
    "cuts": [
        "lot,stock_plant,pieces,order,disinfected_before",
        "7K3QFY,P1,40,1,yes",
        "9XYZAH,P2,,2,no",
    ],
    "checks": [
        (
            "uuid,lot,observed_at,by,looked_at,rooted,showing,whole_lot,note,voided_why,"
            "recorded_at,voided_at,voided_by"
        ),
        f"{U}000000000001,7K3QFY,{AT.format(20)},ana,10,4,,no,=SUM(A1),,,,",
        f"{U}000000000002,7K3QFY,{AT.format(27)},bo,36,30,2,yes,,,{AT.format(29)},,",
        f"{U}000000000003,7K3QFY,{AT.format(28)},bo,99,30,,yes,,mistyped,,{AT.format(30)},ana",
    ],
    "losses": [
        "uuid,lot,observed_at,by,stage,units,reason,note,voided_why",
        f"{U}000000000004,7K3QFY,{AT.format(25)},ana,cell,4,dried out,,",
        f"{U}000000000005,9XYZAH,{AT.format(25)},ana,pot,2,rot,,",
    ],
    "moves": [
        "uuid,lot,observed_at,by,place,what,voided_why",
        f"{U}000000000006,7K3QFY,{AT.format(26)},ana,@B2,,",
    ],
    "potups": [
        "uuid,lot,observed_at,by,units,pots,pot_size,voided_why",
        f"{U}000000000007,7K3QFY,{AT.format(29)},ana,30,10,10½ cm,",
    ],
    "finishes": [
        "uuid,lot,observed_at,by,pots,pot_size,voided_why",
        f"{U}000000000008,7K3QFY,{AT.format(30)},ana,9,10½ cm,",
        f"{U}000000000009,9XYZAH,{AT.format(30)},ana,5,,",
    ],
    "leaves": [
        "uuid,lot,observed_at,by,pots,from,kind,to,voided_why",
        f"{U}000000000010,7K3QFY,{AT.format(31)},ana,3,finished,sold,@market,",
        f"{U}000000000011,9XYZAH,{AT.format(31)},ana,1,growing,stock,,",
    ],
    "targets": [
        "variety,pot_size,pots,wanted_by,for,note,confidence,every_weeks,until",
        "V1,7 cm,100,2026-09-01,spring fair,,,,",
        "V1,7 cm,100,2026-09-01,spring fair,,,,",
        "V1,7 cm,60,2026-10-01,shop,,0.95,4,2027-03-01",
    ],
    "closedtargets": [
        "variety,pot_size,pots,wanted_by,for,note,confidence,every_weeks,until,outcome,closed_on",
        "V1,7 cm,100,2026-09-01,spring fair,,,,,met,2026-09-02",
    ],
    "limits": [
        "week,flats,cells_per_flat,minutes,pot_area_m2",
        ",60,48,600,20.5",
        "2026-W53,,,0,",
    ],
    "changes": [
        "day,what,house,group",
        '2026-03-01,"new boiler, at last",B,',
        "2026-03-01,=bark mix,,rex begonia",
    ],
    "trials": [
        "trial,session,question,variety,seed,across,cells",
        "T4,S1,=wedge or tip?,V1,2147483647,6,AABB BABA",
    ],
    "arms": [
        "trial,arm,method,medium,hormone",
        "T4,A,leaf wedge,peat,",
        "T4,B,tip,,@IBA",
    ],
    "triallots": ["lot,trial,arm", "7K3QFY,T4,A", "0B1CDF,T4,B"],
    "corrections": [
        "lot,at,by,why,field,before,after",
        f"7K3QFY,{AT.format(20)},bo,=a slip,stuck_units,36,40",
        f"7K3QFY,{AT.format(20)},bo,=a slip,method,,leaf wedge",
    ],
    "refusals": [
        "uuid,lot,sent,why,by,received_at,settled_at,settled_by,settled_how",
        f'not a uuid,7K3QFZ,"{{""units"": [1, null]}}",no such lot,ana,{AT.format(20)},,,',
        f"{U}000000000013,,[],nothing,bo,{AT.format(20)},{AT.format(21)},ana,thrown away",
    ],
    "labelstocks": [
        (
            "name,unit,columns,rows,page_width,page_height,label_width,label_height,left,top,"
            "pitch_x,pitch_y,corner,free_left,free_right,free_top,free_bottom,padding,folded"
        ),
        "@our roll,in,1,1,25.4,101.6,25.4,101.6,0,0,0,0,0.1,0,0,10.0625,0,1.5,no",
    ],
    "printers": ["name,offset_x,offset_y,scale_percent", "office,-0.3,1.25,100.5"],
    "tagwording": [
        (
            "number,nursery_line,protected_notice,passport,registration,member_state,"
            "passport_words,origin,place"
        ),
        "1,-our line-,no,yes,12345,NL,,,yes",
    ],
    "petgroups": ["number,group", "1,rex begonia", '1,"=cane, ""odd"""'],
}


def write(folder: Path, **tables: list[str]) -> Path:
    """Write tables (all of BOOK, where none is named) as CSV files into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, lines in (tables or BOOK).items():
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def tables() -> dict[str, list[list[str]]]:
    """The cells of BOOK."""
    return {
        name: list(csv.reader(io.StringIO("\n".join(lines), newline="")))
        for name, lines in BOOK.items()
    }


def read(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def bring_in(*paths: Path, **options) -> csvbook.Report:
    return csvbook.import_files(csvbook.find(paths), **options)


def faults_of(folder: Path, **tables: list[str]) -> list[str]:
    """What is wrong with the tables, as sentences; none, and they are in the book."""
    report = bring_in(write(folder / "given", **tables))
    assert report.faults_count == len(report.faults)
    return [str(fault) for fault in report.faults]


@contextmanager
def passing() -> Iterator[None]:
    """A book that is gone afterwards: the database is as it was before."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def texts(most: int = 80, least: int = 0) -> st.SearchStrategy[str]:
    """What people and their spreadsheets may write: all letters, quotes, line breaks, formulas."""
    letters = st.one_of(
        st.characters(exclude_categories=["Cs"], exclude_characters="\0"),
        st.sampled_from("=+-@'\",;\t\n\r "),
    )
    stripped = st.text(letters, max_size=most).map(str.strip)
    return stripped.filter(lambda text: len(text) >= least)
