"""Changes of several files, made all or none, whatever stops the machine.

What is to come is laid ready in a folder of its own, which takes long and keeps nobody waiting. Giving that folder the
name of the journal is the one step that decides; then each file is moved to its place. Whoever opens the profiles
folder after a stop in between finishes the moves first (`planner.store.locking`).
"""

import json
import os
import re
import shutil
import stat
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Final, Literal, NamedTuple, Self
from uuid import uuid4

from planner.records import BadInput, Problem
from planner.store import atomic_write
from planner.store.os_errors import refused, told_errors
from planner.store.reading import is_inside, read_bytes

JOURNAL: Final = ".journal"
PLAN: Final = "plan.json"
LARGEST_PLAN: Final = 8_000_000  # bytes; an import of 12,000 files takes 3 MB

NOT_TAKEN_BACK: Final = "could not be undone"

_DOING: Final = {"put": "written", "move": "moved", "remove": "removed"}

_PLACE: Final = re.compile(
    r"(?:(?:trucks|trailers|bags|slips|history|bin|backups)/)?[a-z0-9][a-z0-9-]*\.(?:toml|jsonl)", re.ASCII
)


class Step(NamedTuple):
    """One file: put there from what is laid ready, moved to another place, or removed.

    `source` is the number of what is laid ready, the place it is moved from, or the hash of what is removed.
    """

    do: Literal["put", "move", "remove"]
    place: str  # from the profiles folder
    source: str


class Changes:
    """Changes of a profiles folder that are laid ready; leaving the `with` without `commit` forgets them."""

    def __init__(self, home: Path) -> None:
        """Begin with none; nothing is on the disk yet."""
        self._home = home
        self._ready = home / f"{atomic_write.STAGED}{uuid4().hex}"
        self._steps: list[Step] = []
        self._numbers: dict[str, str] = {}  # of what is laid ready, by its place
        self._waiting: list[Path] = []  # for the disk

    def __enter__(self) -> Self:
        """Return the changes themselves."""
        return self

    def __exit__(self, *given: object) -> None:
        """Take away what was laid ready and has not been made so."""
        shutil.rmtree(self._ready, ignore_errors=True)

    def put(self, place: str, data: bytes) -> None:
        """Lay a file ready, in place of what was laid ready for its place before; OSError if the disk refuses."""
        self._ready.mkdir(exist_ok=True)
        if place not in self._numbers:
            self._numbers[place] = str(len(self._numbers))
            self._steps.append(Step("put", place, self._numbers[place]))
        path = self._ready / self._numbers[place]
        path.write_bytes(data)
        self._waiting.append(path)

    def move(self, old: str, place: str) -> None:
        """Let a file go to another place, where none is."""
        self._steps.append(Step("move", place, old))

    def remove(self, place: str, data: bytes) -> None:
        """Let a file go which holds these bytes; with others in it, it stays."""
        self._steps.append(Step("remove", place, sha256(data).hexdigest()))

    def wait_for_disk(self) -> None:
        """Wait until all that was laid ready is on the disk; before the lock is taken, as this takes longest."""
        for path in self._waiting:
            atomic_write.wait_for(path)
        self._waiting.clear()

    def commit(self) -> None:
        """Make all the changes. The caller holds the folder's lock, and has looked that they are still right.

        Raises
        ------
        BadInput
            If the disk refuses: nothing has changed then, or the problems say where it has.
        """
        if not self._steps:
            return
        with told_errors(self._steps[0].place, "written"):
            self._ready.mkdir(exist_ok=True)
            (self._ready / PLAN).write_text(json.dumps(self._steps), "utf-8")
            self._waiting.append(self._ready / PLAN)
            self.wait_for_disk()
            atomic_write.sync_folder(self._ready)
            for folder in {(self._home / step.place).parent for step in self._steps}:
                atomic_write.make_folder(folder)
            atomic_write.move_file(self._ready, self._home / JOURNAL)
        self._apply()
        _close(self._home, self._steps)

    def _apply(self) -> None:
        """Make each change; if one cannot be made, take all back."""
        done: list[tuple[Step, Callable[[], object]]] = []
        for step in self._steps:
            try:
                done.append((step, _undoing(self._home, step)))
                _make(self._home, step)
            except BaseException as exc:
                os.rename(self._home / JOURNAL, self._ready)  # nobody shall finish it
                left = [problem for made, undo in reversed(done) for problem in _undone(made, undo)]
                if not isinstance(exc, OSError):
                    raise
                with told_errors(step.place, _DOING[step.do]):
                    if not left:
                        raise  # all is as it was
                    raise BadInput([refused(step.place, _DOING[step.do], exc), *left]) from exc


def finish(home: Path) -> None:
    """Finish what a program was stopped in; the caller holds the lock.

    A journal that makes no sense is none of the planner's: it is set aside and nothing in it is done.

    Raises
    ------
    BadInput
        If the disk refuses; it stays to be finished.
    """
    journal = home / JOURNAL
    if not os.path.lexists(journal):
        return
    with told_errors(JOURNAL, "finished"):
        try:
            steps = _steps(home)
        except (BadInput, FileNotFoundError) as exc:
            if isinstance(exc.__cause__, OSError):  # it may well make sense, once the disk lets it be read
                raise
            atomic_write.set_aside(journal)
            return
        for folder in {(home / step.place).parent for step in steps}:
            folder.mkdir(exist_ok=True)
        for step in steps:
            _make(home, step)
        _close(home, steps)


def _steps(home: Path) -> list[Step]:
    """Return the steps of the journal; BadInput if they are none that a planner wrote."""
    raw = read_bytes(home / JOURNAL / PLAN, f"{JOURNAL}/{PLAN}", home, LARGEST_PLAN)
    try:
        steps = [Step(*step) for step in json.loads(raw)]
    except (ValueError, TypeError, RecursionError) as exc:
        raise _senseless() from exc
    if not all(map(_is_sound, steps)):
        raise _senseless()
    touched = [step.place for step in steps] + [step.source for step in steps if step.do == "move"]
    if not all(is_inside(home / place, home) for place in touched):  # a folder of it may be a link that leaves
        raise _senseless()
    return steps


def _is_sound(step: Step) -> bool:
    """Tell whether a step of a journal on the disk can be a planner's."""
    if not all(isinstance(part, str) for part in step) or not _PLACE.fullmatch(step.place):
        return False
    if step.do == "move":
        return _PLACE.fullmatch(step.source) is not None
    return step.do == "remove" or (step.do == "put" and step.source.isdigit() and step.source.isascii())


def _make(home: Path, step: Step) -> None:
    """Make one change; one that has been made already is not made again."""
    place = home / step.place
    if step.do == "put":
        ready = home / JOURNAL / step.source
        if _is_plain(ready):
            os.replace(ready, os.path.realpath(place) if place.is_symlink() else place)
    elif step.do == "move":
        if os.path.lexists(home / step.source) and not os.path.lexists(place):
            os.rename(home / step.source, place)
    elif (data := _there(place)) is not None and sha256(data).hexdigest() == step.source:
        place.unlink()


def _is_plain(path: Path) -> bool:
    """Tell whether a file lies at a path itself, and no link or folder."""
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except FileNotFoundError:
        return False


def _there(place: Path) -> bytes | None:
    """Return what a file holds; None if there is none, or no plain one."""
    try:
        return read_bytes(place, place.name)
    except (FileNotFoundError, BadInput):
        return None


def _undoing(home: Path, step: Step) -> Callable[[], object]:
    """Return what takes a step back, before it is made."""
    place = home / step.place
    if step.do == "move":
        return lambda: os.rename(place, home / step.source) if os.path.lexists(place) else None
    before = _there(place) if os.path.lexists(place) else None
    if before is None:
        return lambda: place.unlink(missing_ok=True)
    return lambda: atomic_write.replace_file(place, before) if _there(place) != before else None


def _undone(step: Step, undo: Callable[[], object]) -> Iterator[Problem]:
    """Take a step back; yield that it could not be."""
    try:
        undo()
    except OSError:
        remedy = "if an import replaced a file, the old one is in the bin"
        yield Problem(step.place, "", "", NOT_TAKEN_BACK, remedy)


def _close(home: Path, steps: Sequence[Step]) -> None:
    """Wait for the disk, then take the journal away in one step."""
    for folder in {(home / step.place).parent for step in steps}:
        atomic_write.sync_folder(folder)
    done = home / f"{atomic_write.STAGED}{uuid4().hex}"
    atomic_write.move_file(home / JOURNAL, done)
    with suppress(OSError):  # swept later
        shutil.rmtree(done)


def _senseless() -> BadInput:
    """Return the error of a journal that no planner wrote."""
    return BadInput([Problem(JOURNAL, "", "", "cannot be read", "nothing to do; the planner sets it aside")])
