"""Sentences of the core in the language of the page."""

from django.utils.translation import gettext

from labels.sentences import Sentence


def translated(sentence: str) -> str:
    """A sentence of the core in the language of the page; any other text as it is."""
    if not isinstance(sentence, Sentence):
        return sentence
    values = {name: translated(value) for name, value in sentence.values.items()}
    return gettext(sentence.template) % values
