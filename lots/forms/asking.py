"""Asking about a number that looks like a slip of the finger: once, and not refusing it."""

from django import forms


class AskingForm(forms.Form):
    """`ask` puts the question at a field, and the template a button beside it that says yes. The
    yes is to one number: another that looks like a slip is asked about again."""

    sure = forms.CharField(required=False, widget=forms.HiddenInput)
    asks: tuple[int, str] | None = None  # the number asked about, and what the button says

    @staticmethod
    def looks_like_a_slip(number: int, expected: int) -> bool:
        """More than twice as many as expected, or no more than a tenth: a digit too many or too
        few."""
        return number > 2 * expected or 10 * number <= expected

    def ask(self, field: str, number: int, question: str, yes: str) -> None:
        if self.cleaned_data.get("sure") != str(number):
            self.asks = number, yes
            self.add_error(field, question)
