"""The errors that the core raises: each names the argument, the value and the limits."""


class BadInput(ValueError):
    """An argument is malformed: wrong shape, NaN where a number is needed, unsorted days."""

    def __init__(self, argument: str, problem: str) -> None:
        self.argument = argument
        super().__init__(f"{argument}: {problem}")


class OutOfRange(BadInput):
    """A value lies outside the range in which its published model holds."""

    def __init__(self, argument: str, value: float, low: float, high: float, unit: str, source: str) -> None:
        self.value, self.low, self.high, self.source = value, low, high, source
        super().__init__(argument, f"{value:g} {unit} is outside {low:g} to {high:g} {unit} ({source})")
