"""How many files and connections the process may have open."""

import sys

ENOUGH = 16_384
"""Some services a machine, each with its connections to store, platform, proxy and pages."""


def allow_open_files() -> None:
    """Raise the soft bound, often 1,024 or 256, as far as the system's hard one allows."""
    if sys.platform == "win32":
        return
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = ENOUGH if hard == resource.RLIM_INFINITY else min(ENOUGH, hard)
    if soft != resource.RLIM_INFINITY and soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
