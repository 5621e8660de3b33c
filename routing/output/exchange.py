"""Two folders change places in one step, where the system can do that.

Source: Linux man page renameat2(2), RENAME_EXCHANGE; macOS man page renamex_np(2), RENAME_SWAP.
"""

from __future__ import annotations

import ctypes
import errno
import os
import sys
from pathlib import Path

AT_FDCWD = -100
RENAME_EXCHANGE = RENAME_SWAP = 2
CANNOT = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}
"""What a system or a file system without this says."""


def exchange(one: Path, other: Path) -> bool:
    """Let the two change places at once; return whether that is possible here, nothing being changed where it is not.

    Raises OSError where it is possible and failed.
    """
    if sys.platform not in {"linux", "darwin"}:
        return False
    library = ctypes.CDLL(None, use_errno=True)
    try:
        if sys.platform == "linux":
            failed = library.renameat2(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE)
        else:
            failed = library.renamex_np(os.fsencode(one), os.fsencode(other), RENAME_SWAP)
    except AttributeError:  # an older C library
        return False
    if not failed:
        return True
    number = ctypes.get_errno()
    if number in CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(other))
