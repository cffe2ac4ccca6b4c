"""A stand-in for Windows' `msvcrt`, as far as its documentation tells of `locking`; it is not Windows.

`locking(fd, mode, nbytes)` locks from the file's position on, also beyond its end, and raises OSError where
the bytes are taken, by another handle of the same process too
(https://docs.python.org/3/library/msvcrt.html). Here Linux' locks of an open file description do that; like
those of Windows they end with the handle. They do not keep others from reading the locked bytes.
"""

import os
import struct
import sys
import types

try:
    import fcntl
except ModuleNotFoundError:
    fcntl = None

LK_UNLCK, LK_NBLCK = 0, 2
CAN = hasattr(fcntl, "F_OFD_SETLK")
"""Whether this machine can stand in."""


def install(modules=sys.modules):
    """Put it where `import msvcrt` finds it, take fcntl away as on Windows; gives its calls as they come."""
    calls = []

    def locking(fd, mode, nbytes):
        calls.append((mode, os.lseek(fd, 0, os.SEEK_CUR), nbytes))
        kind = {LK_NBLCK: fcntl.F_WRLCK, LK_UNLCK: fcntl.F_UNLCK}[mode]
        # struct flock of Linux: type, whence, start, length, process (none).
        fcntl.fcntl(fd, fcntl.F_OFD_SETLK, struct.pack("hhqqi0q", kind, os.SEEK_CUR, 0, nbytes, 0))

    module = types.ModuleType("msvcrt")
    module.locking, module.LK_UNLCK, module.LK_NBLCK = locking, LK_UNLCK, LK_NBLCK
    modules["msvcrt"], modules["fcntl"] = module, None
    return calls
