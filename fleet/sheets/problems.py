"""What is wrong with a file: where, and what is wanted there."""

from collections.abc import Iterable

from fleet.refusals import Refused


class Problem(ValueError):
    """One thing that is wrong in a file; row 1 is the header, row 0 the file as a whole."""

    def __init__(self, file: str, row: int, column: str, wanted: str) -> None:
        super().__init__(file, row, column, wanted)
        self.file, self.row, self.column, self.wanted = file, row, column, wanted

    def __str__(self) -> str:
        where = f"row {self.row}" if self.row else ""
        if self.column:
            where += f"{', ' if where else ''}column {self.column}"
        return f"{self.file}: {where + ': ' if where else ''}wanted {self.wanted}"


class BadFile(Refused):
    """A file that was not taken: the first problems in the order of the file, and how many there are in all."""

    def __init__(self, problems: Iterable[Problem], count: int | None = None) -> None:
        self.problems = list(problems)
        self.count = len(self.problems) if count is None else count
        super().__init__({problem.column: f"wanted: {problem.wanted}" for problem in self.problems})

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def lines(self) -> list[str]:
        """Each problem in a line, and how many more there are."""
        more = self.count - len(self.problems)
        return [*map(str, self.problems), *([f"and {more:,} more"] if more else [])]


class Problems:
    """Gathers what is wrong with one file: the first hundred in full, the rest counted."""

    SHOWN = 100

    def __init__(self, file: str) -> None:
        self.file = file
        self.count = 0
        self._shown: list[Problem] = []

    def note(self, row: int, column: str, wanted: str) -> None:
        """Note that something else is wanted in a cell."""
        self.add(Problem(self.file, row, column, wanted))

    def add(self, problem: Problem) -> None:
        """Note a problem that was raised."""
        self.count += 1
        if len(self._shown) < self.SHOWN:
            self._shown.append(problem)

    def shown(self) -> list[Problem]:
        """List the first problems, in the order of the file."""
        return sorted(self._shown, key=lambda problem: problem.row)

    def refuse_if_any(self) -> None:
        """Raise BadFile if anything is wrong."""
        if self.count:
            raise BadFile(self.shown(), self.count)
