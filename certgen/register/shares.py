"""Whether a folder stands on a share of several machines, as far as the system tells (Linux: proc(5))."""

import re
from pathlib import Path

ONE_MACHINE = "CERTGEN_ONE_MACHINE"
_MOUNTS = Path("/proc/self/mounts")
_SHARES = re.compile(
    r"nfs\d?|cifs|smb\d?|smbfs|smb3|9p|afs|ceph|lustre|glusterfs|gfs2?|ocfs2|ncpfs|davfs|davfs2|vboxsf|drvfs"
    r"|fuse\.(sshfs|glusterfs|cephfs|rclone|davfs2?|smbnetfs|s3fs|vmhgfs-fuse)"
)
_ESCAPED = re.compile(r"\\([0-7]{3})")
_allowed = False


def allow_shares(allowed: bool) -> None:
    """Say whether shares may be written to all the same, since only this machine does so."""
    global _allowed  # a setting of the machine, not of a register
    _allowed = allowed


def kind_of_share(folder: Path) -> str:
    """Return the kind of share that a folder is or would be made on, empty where it is none."""
    if _allowed:
        return ""
    return share_among(mounts(), folder.absolute())


def mounts() -> str:
    """Return what the system says is mounted; nothing where it does not tell."""
    try:
        return _MOUNTS.read_text("utf-8", "surrogateescape")
    except OSError:
        return ""


def share_among(listed: str, folder: Path) -> str:
    """Return the kind of share a folder stands on, by the lines of `mounts`; the innermost place counts."""
    within, kind = -1, ""
    for line in listed.splitlines():
        _, place, found = (*line.split(" "), "", "", "")[:3]
        at = Path(_ESCAPED.sub(lambda code: chr(int(code[1], 8)), place))
        if place and (at == folder or at in folder.parents) and len(at.parts) >= within:
            within, kind = len(at.parts), found
    return kind if _SHARES.fullmatch(kind) else ""
