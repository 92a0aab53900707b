"""Sentences of the core are said in the language of the page."""

from django.utils import translation

from labels import qr, translating
from labels.sentences import Sentence
from labels.stock import LabelStock, check
from labels.translating import translated


def test_a_sentence_reads_in_english_as_it_is():
    assert (
        Sentence("It is %(mm).1f mm wide, %(share)d %%.", mm=2, share=7)
        == "It is 2.0 mm wide, 7 %."
    )


def test_a_page_says_template_and_values_in_its_language(monkeypatch):
    english = "The %(what)s must be more than 0, and is %(is_now)s."
    words = {
        english: "%(what)s: %(is_now)s ist zu wenig.",
        "label width": "Breite des Etiketts",
    }
    monkeypatch.setattr(translating, "gettext", lambda text: words.get(text, text))
    [fault] = check(LabelStock("wrong", 100, 50, 0, 20))
    assert translated(fault) == "Breite des Etiketts: 0 mm ist zu wenig."
    assert translated("as typed") == "as typed"


def test_every_advice_can_be_said_again_from_its_template():
    with translation.override(None):
        for address in ("http://192.168.1.20:8000/T/7K3QF2", "http://x_y.example/T/7K3QF2"):
            for room in (11, 13, 20):
                for sentence in qr.advice(address, room):
                    assert translated(sentence) == sentence
