"""Where the lasting things of a clone lie: its private database, its secret key, the key of its demo.

They lie outside of the clone, in the user's data folder, under an id that belongs to the path of the clone.
So `git clean` takes none of them, a copy of the clone gets its own, and a clone that is cloned anew at the
same place finds them again. Within the clone lies only a note of the path at which it was used last, by
which a moved clone is known.
"""

import contextlib
import hashlib
import os
import pwd
import secrets
import shutil
from collections.abc import Callable
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
ROOT_HOME = Path("/var/lib/roundlay")
# What an older release kept in the clone itself.
_ONCE_IN_CLONE = ("secret", "demo-key")


class PrivateServerFailed(RuntimeError):
    """The private PostgreSQL cannot be used; the message says why and what to do."""


class HomeUnclear(PrivateServerFailed):
    """It cannot be told which data are this clone's, or where they can lie; the message says what to do."""


def as_root() -> bool:
    return os.geteuid() == 0


def data_root() -> Path:
    """The folder of all clones' data: of the user, or of the machine for root."""
    if as_root():
        return ROOT_HOME
    given = Path(os.environ.get("XDG_DATA_HOME") or "")
    if given.is_absolute():
        return given / "roundlay"
    user = os.environ.get("HOME") or pwd.getpwuid(os.geteuid()).pw_dir
    return Path(user) / ".local" / "share" / "roundlay"


def id_of(folder: Path) -> str:
    """The id that belongs to a folder's path."""
    return hashlib.sha256(os.fsencode(folder)).hexdigest()[:10]


def home_of(clone: Path) -> Path:
    return data_root() / id_of(clone)


def home() -> Path:
    """The folder of this clone's lasting things; ROUNDLAY_PRIVATE_DIR names another."""
    given = os.environ.get("ROUNDLAY_PRIVATE_DIR")
    return Path(given).resolve() if given else home_of(PROJECT)


def database_home() -> Path:
    """The folder in which the private database's own lies: for root one that others may pass through."""
    given = os.environ.get("ROUNDLAY_PRIVATE_DIR")
    return ROOT_HOME / id_of(Path(given).resolve()) if given and as_root() else home()


def make_folder(folder: Path) -> None:
    """Make it, with those above it; what lies in it is guarded by its own rights."""
    try:
        folder.mkdir(mode=0o711 if as_root() else 0o700, parents=True, exist_ok=True)
    except OSError as fault:
        raise HomeUnclear(
            f"The folder for the data cannot be made: {fault}. ROUNDLAY_PRIVATE_DIR names another."
        ) from fault


def kept_text(name: str, made: str) -> str:
    """A small text of this clone's own, made once and kept for the owner's eyes."""
    folder = home()
    make_folder(folder)
    path = folder / name
    if not path.exists():
        mine = folder / f"{name}.{os.getpid()}"
        write_secret(mine, made)
        with contextlib.suppress(FileExistsError):  # whole or absent, and the first to come wins
            os.link(mine, path)
        mine.unlink()
    return path.read_text()


def private_secret() -> str:
    """The secret key of a server that was given none."""
    return kept_text("secret", secrets.token_urlsafe(48))


def write_secret(path: Path, text: str) -> None:
    """Write a file that only its owner may read, whole or not at all."""
    half = path.with_name(f"{path.name}.part-{os.getpid()}")
    with open(half, "w", opener=lambda name, flags: os.open(name, flags, 0o600)) as file:
        file.write(text)
    half.replace(path)


def settle(
    *,
    say: Callable[[str], None],
    ask: Callable[[str], bool],
    is_running: Callable[[Path], bool],
    clone: Path = PROJECT,
) -> None:
    """See to it that this clone uses its own data, and none of another's; before anything is started.

    `ask` is asked whether data of a clone that stood elsewhere are taken over. `is_running` says of a folder
    of data whether a database runs from it. Raises HomeUnclear.
    """
    if os.environ.get("ROUNDLAY_PRIVATE_DIR"):
        return
    note = clone / ".private" / "path"
    own = home_of(clone)
    if note.exists():
        _settle_elsewhere(Path(note.read_text()), clone, say=say, ask=ask, is_running=is_running)
    else:
        _take_from_clone(clone, own, say=say, is_running=is_running)
    note.parent.mkdir(mode=0o700, exist_ok=True)
    note.write_text(str(clone))


def _settle_elsewhere(
    before: Path,
    clone: Path,
    *,
    say: Callable[[str], None],
    ask: Callable[[str], bool],
    is_running: Callable[[Path], bool],
) -> None:
    """The clone was used at `before` last; if that is another path, it was copied or moved."""
    theirs, own = home_of(before), home_of(clone)
    if before == clone or not (theirs / "postgres").exists():
        return
    if (before / "manage.py").exists():
        say(f"   this folder is a copy of {before}: it gets a database of its own")
    elif (own / "postgres").exists():
        say(f"   this folder was at {before}; here are data already, and those of there stay in {theirs}")
    elif ask(f"This folder was at {before} when it was used last. Shall its data be taken over?"):
        if is_running(theirs):
            raise HomeUnclear(f"The database in {theirs} runs still. Stop its service, then start this one.")
        _move_all(theirs, own)
        say(f"   the data of {before} were taken over")
    else:
        say(f"   beginning anew; the data of {before} stay in {theirs}")


def _take_from_clone(
    clone: Path, own: Path, *, say: Callable[[str], None], is_running: Callable[[Path], bool]
) -> None:
    """Take over what an older release kept in the clone, or for root under an id that the clone kept."""
    kept = clone / ".private"
    old_id = (kept / "id").read_text().strip() if (kept / "id").exists() else ""
    old = ROOT_HOME / old_id if as_root() and old_id else kept
    if not (old / "postgres").exists() or (own / "postgres").exists():
        return
    if is_running(old):
        raise HomeUnclear(f"The database in {old} runs still. Stop its service, then start this one.")
    make_folder(own)
    for name in _ONCE_IN_CLONE:
        if (kept / name).exists():
            shutil.move(kept / name, own / name)
    shutil.move(old / "postgres", own / "postgres")
    say(f"   the data that lay in {old} lie in {own} now")


def _move_all(theirs: Path, own: Path) -> None:
    make_folder(own)
    for path in theirs.iterdir():
        shutil.move(path, own / path.name)
    theirs.rmdir()
