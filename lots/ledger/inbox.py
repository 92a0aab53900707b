"""Records that arrive from a phone's own store, in the shape of `POST /sync/`.

One record is `{"uuid", "kind", "lot", "observed_at", …fields of the kind…}` with the kinds and
fields of the CSV files; a leave's `kind` is sent as `way`, since `kind` says what record it is.
The answer to each is saved, already or refused; what is refused is kept for a person to settle.
"""

import json
import math
import uuid as uuidlib
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from itertools import batched
from typing import Any

from django import forms
from django.db import transaction
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from lots import codes, ledger, outlook
from lots.models import RECORDS, Lot, Record, Refusal

TOGETHER = 20  # records in one transaction: as long nobody else writes


def read(body: bytes) -> list[Any]:
    """The records of a sending. Raises ValueError if it isn't JSON of the shape above."""
    try:
        records = json.loads(body)["records"]
        if not isinstance(records, list):
            raise TypeError
        return [_storable(sent) for sent in records]
    except (KeyError, TypeError, RecursionError) as fault:
        raise ValueError("no records in this") from fault


def _storable(value: Any) -> Any:
    """The value without what JSON may say and no database stores: NUL, halves of characters,
    numbers that are none. Such a record is refused or kept like any other."""
    match value:
        case str():
            return value.replace("\0", "\ufffd").encode(errors="replace").decode()
        case float() if not math.isfinite(value):
            return str(value)
        case list():
            return [_storable(item) for item in value]
        case dict():
            return {_storable(key): _storable(item) for key, item in value.items()}
    return value


def take(records: Iterable[Any], *, by) -> list[dict[str, str]]:
    """Store records as they were sent, or keep them as refused; returns the answer to each. So many
    as go into one transaction wait for the disk and for new forecasts together."""
    return [answer for some in batched(records, TOGETHER) for answer in _take_together(some, by)]


@dataclass
class Together:
    """What records of one transaction need of the book: their lots by code, the numbers that stand
    in it with their kind and lot, those of records once refused; and the lots that change."""

    lots: dict[str, Lot]
    standing: set[tuple[str, uuidlib.UUID, int]]
    refused: set[str]
    changed: set[int] = field(default_factory=set)


@transaction.atomic
def _take_together(records: Sequence[Any], by) -> list[dict[str, str]]:
    # Always in the same order of lots, so that two phones can't lock each other out.
    lots = Lot.objects.select_for_update().filter(code__in=_told(records, _code)).order_by("pk")
    numbers = _told(records, _uuid)
    standing = {
        (kind, *found)
        for kind, model in RECORDS.items()
        for found in model.objects.filter(uuid__in=numbers).values_list("uuid", "lot")
    }
    refused = Refusal.objects.filter(uuid__in=map(str, numbers), settled_at=None)
    together = Together(
        {lot.code: lot for lot in lots}, standing, set(refused.values_list("uuid", flat=True))
    )
    answers = [_take(one, by, together) for one in records]
    if together.changed:
        those = Lot.objects.filter(pk__in=together.changed).order_by("pk")
        whole = those.select_related("variety__group", "method", "direct_pot_size", "session")
        outlook.renew(list(whole))
    return answers


def _told[T](records: Iterable[Any], read: Callable[[dict], T]) -> set[T]:
    """What can be read in records, of those in which it can."""
    found = set()
    for sent in records:
        with suppress(ledger.Refused, AttributeError):
            found.add(read(sent))
    return found


def _take(sent: Any, by, together: Together) -> dict[str, str]:
    """Store one record as it was sent, or keep it as refused; returns its answer."""
    name = str(sent.get("uuid", "")) if isinstance(sent, dict) else ""
    try:
        is_new = _store(sent, by, together)
    except ledger.Refused as refusal:
        _keep(sent, str(refusal), by)
        together.refused.add(_number(sent))
        return {"uuid": name, "status": "refused", "why": str(refusal)}
    if _number(sent) in together.refused:
        Refusal.objects.filter(uuid=_number(sent), settled_at=None).update(
            settled_at=timezone.now(), settled_by=by, settled_how=_("sent again and stored")
        )
    return {"uuid": name, "status": "saved" if is_new else "already", "why": ""}


def _store(sent: Any, by, together: Together) -> bool:
    """Whether the record is new to the book, where it stands now. Raises Refused."""
    if not isinstance(sent, dict):
        raise ledger.Refused(_("A record is an object with uuid, kind, lot and observed_at."))
    kind, uuid, code = _kind(sent), _uuid(sent), _code(sent)
    lot = together.lots.get(code)
    if lot is None:
        raise ledger.Refused(_("There is no lot %(code)s in this book.") % {"code": code})
    # What stands in the book stands, even if its place has another name by now.
    if (kind, uuid, lot.pk) in together.standing:
        return False
    entry = _entry(kind, sent)
    entry.uuid, entry.observed_at, entry.by = uuid, _moment(sent), by
    [(_stored, is_new)] = ledger.record(lot, [entry], renewing=False)
    if is_new:
        together.changed.add(lot.pk)
    return is_new


def _kind(sent: dict) -> str:
    kind = sent.get("kind")
    if isinstance(kind, str) and kind in RECORDS:
        return kind
    raise ledger.Refused(
        _("“%(kind)s” is no kind of record; the kinds are %(kinds)s.")
        % {"kind": kind, "kinds": ", ".join(RECORDS)}
    )


def _code(sent: dict) -> str:
    text = sent.get("lot")
    try:
        return codes.read(str(text or ""))
    except codes.NotACode as fault:
        raise ledger.Refused(_("“%(text)s” is no lot code.") % {"text": text}) from fault


def _entry(kind: str, sent: dict) -> Record:
    """The unsaved record of the kind's own fields. Raises Refused."""
    model = RECORDS[kind]
    data = {one.field: sent[one.in_sync] for one in model.CARRIES if one.in_sync in sent}
    for carried in model.CARRIES:
        if carried.empty is not None and not data.get(carried.field):
            data[carried.field] = carried.empty
    for name in model.named():
        if data.get(name):
            table = model._meta.get_field(name).related_model
            row = table.objects.filter(name=str(data[name])).first()
            if row is None:
                raise ledger.Refused(
                    _("There is no %(what)s “%(name)s” in this book.")
                    % {"what": table._meta.verbose_name, "name": data[name]}
                )
            data[name] = row.pk
    form = forms.modelform_factory(model, fields=[one.field for one in model.CARRIES])(data)
    if form.errors:
        field, texts = next(iter(form.errors.items()))
        raise ledger.Refused(f"{field}: {texts[0]}")
    return form.save(commit=False)


def _uuid(sent: dict) -> uuidlib.UUID:
    try:
        return uuidlib.UUID(str(sent.get("uuid")))
    except ValueError as fault:
        raise ledger.Refused(
            _("A record needs a uuid of its own, made where the record is made.")
        ) from fault


def _moment(sent: dict) -> datetime:
    try:
        moment = parse_datetime(str(sent.get("observed_at")))
        if moment is None:
            raise ValueError
        return timezone.localtime(moment)  # a moment without its offset is a ValueError too
    except (ValueError, OverflowError) as fault:
        raise ledger.Refused(
            _("observed_at has to be a moment with its offset, like 2026-03-02T09:15:00+01:00.")
        ) from fault


def _number(sent: Any) -> str:
    """What a refused record is known by: its uuid, or one made of all that was sent."""
    try:
        return str(_uuid(sent))
    except (ledger.Refused, AttributeError):
        return str(uuidlib.uuid5(uuidlib.NAMESPACE_OID, json.dumps(sent, sort_keys=True)))


def _lot_text(sent: Any) -> str:
    """The lot as it was sent, to be shown; nothing for what is too long to be any code. All that
    was sent is kept beside it."""
    text = str(sent.get("lot", "")) if isinstance(sent, dict) else ""
    return text if len(text) <= Refusal._meta.get_field("lot_text").max_length else ""


def _keep(sent: Any, why: str, by) -> None:
    """Keep what was refused, once; what somebody has settled stays settled."""
    Refusal.objects.get_or_create(
        uuid=_number(sent),
        defaults={
            "sent": "null" if sent is None else sent,
            "lot_text": _lot_text(sent),
            "why": why,
            "by": by,
        },
    )
