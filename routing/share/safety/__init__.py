"""What leaves the farm, and that nothing in it is taken for code."""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.share.safety import passphrase as passphrase

__getattr__ = modules_of(__name__, "passphrase")
