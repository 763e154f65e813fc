"""A lock on a file that goes with its process, however that ends."""

import sys
from typing import IO

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


def locked(stream: IO[bytes]) -> bool:
    """Locks an open file for this process.

    Args:
        stream: the file; the lock goes when it is closed.
    Returns: False where another process holds it.
    """
    try:
        if sys.platform == "win32":
            stream.seek(0)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
