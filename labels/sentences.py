"""Sentences of the core: English, and made so that a page can say them in another language."""

from typing import Self


class Sentence(str):
    """A sentence in English that keeps the template and values it was made of.

    ``Sentence("It is %(mm).2f mm wide.", mm=3)`` reads "It is 3.00 mm wide."; a page that speaks
    another language translates `template`, and puts `values` in again.
    """

    template: str
    values: dict[str, object]

    def __new__(cls, template: str, **values: object) -> Self:
        made = super().__new__(cls, template % values)
        made.template, made.values = template, values
        return made


class SentenceError(ValueError):
    """A refusal that says in one sentence what is wrong and what would be right."""

    def __init__(self, sentence: Sentence) -> None:
        super().__init__(sentence)
        self.sentence = sentence
