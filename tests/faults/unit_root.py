"""A real systemd that has a root of its own, with the unit of config/ installed in it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

from tests.faults.faults_table import NotHereError

ROOT = Path(__file__).parents[2]
SYSTEMD = Path("/lib/systemd/systemd")
WITHIN_S = 900.0
HOMES = ("home", "root")
# Everything stands on an overlay of this machine's files, with processes, network, mounts and
# control groups of its own; what is written there is gone with it. A root that is only changed to
# could have no users of its own, which the unit asks for, so it is turned into the root.
BEGIN = """
set -e
mount -t tmpfs tmpfs "$HERE"
mkdir "$HERE"/up "$HERE"/work "$HERE"/root
mount -t overlay overlay -o "lowerdir=/,upperdir=$HERE/up,workdir=$HERE/work" "$HERE/root"
cd "$HERE/root"
mkdir -p opt/steepwell/checkout opt/steepwell/libraries before shown
mount --bind "$CHECKOUT" opt/steepwell/checkout
mount --bind "$LIBRARIES" opt/steepwell/libraries
mount --bind "$SHOWN" shown
mount -t proc proc proc
mount -t sysfs -o ro sysfs sys
mount -t tmpfs tmpfs run
mount -t tmpfs tmpfs tmp
mount --rbind /dev dev
ip link set lo up
rm -rf var/log/journal
export PYTHONPATH=/opt/steepwell/checkout/daemon:/opt/steepwell/libraries
printf '#!%s\\n' "$PYTHON" >usr/local/bin/steepwell
printf 'import sys\\nfrom steepwell.cli import main\\nsys.exit(main())\\n' >>usr/local/bin/steepwell
chmod 755 usr/local/bin/steepwell
cp "$CHECKOUT/config/steepwell.service" etc/systemd/system/
mkdir -p etc/systemd/system/steepwell.service.d
printf '[Service]\\nEnvironment=PYTHONPATH=%s\\n' "$PYTHONPATH" \
    >etc/systemd/system/steepwell.service.d/here.conf
install -d -m 0700 var/lib/private var/lib/private/steepwell
ln -sfT private/steepwell var/lib/steepwell
chroot . steepwell init /var/lib/steepwell/garden.toml --yes --zone Europe/London --place '52, 0' \
    >run/init
printf '[Unit]\\nDefaultDependencies=no\\nWants=look.service systemd-journald.service\\n' \
    >etc/systemd/system/look.target
cat >etc/systemd/system/look.service <<END
[Unit]
DefaultDependencies=no
After=systemd-journald.service
[Service]
Type=oneshot
Environment=PYTHONPATH=$PYTHONPATH PYTHONUNBUFFERED=1
WorkingDirectory=/opt/steepwell/checkout
ExecStart=$PYTHON -m tests.faults.unit_looks $LOOK
ExecStopPost=/bin/systemctl poweroff --force --force
StandardOutput=append:/shown/seen
StandardError=append:/shown/seen
END
pivot_root . before
umount -l before
# Credentials are mounted by a process of systemd's own, and come to the others only so.
mount --make-rshared /
exec env -i container=other PATH=/usr/sbin:/usr/bin:/sbin:/bin \
    /lib/systemd/systemd --system --unit=look.target --log-target=null --show-status=no
"""


def seen_under_systemd(folder: Path, look: str) -> dict[str, str]:
    """Boot a systemd, have somebody look at the unit from inside, and return what was seen.

    Parameters
    ----------
    folder
        An empty one.
    look
        A look of ``unit_looks``.

    Returns
    -------
    dict
        What that look told, by name.

    Raises
    ------
    NotHereError
        If no systemd can be booted here.
    """
    if os.geteuid() != 0:
        raise NotHereError("only root may give systemd a root of its own")
    if not SYSTEMD.exists() or shutil.which("unshare") is None:
        raise NotHereError("systemd or unshare is not installed")
    here, shown = folder / "root", folder / "shown"
    here.mkdir()
    shown.mkdir()
    of_its_own = ("--mount", "--pid", "--fork", "--net", "--ipc", "--uts", "--cgroup")
    alone = (*of_its_own, "--kill-child", "--propagation", "private")
    command = ("unshare", *alone, "bash", "-c", BEGIN)
    done = subprocess.run(
        command,
        check=False,
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
        env={
            **os.environ,
            "HERE": str(here),
            "SHOWN": str(shown),
            "LOOK": look,
            "CHECKOUT": str(ROOT),
            "LIBRARIES": sysconfig.get_path("purelib"),
            "PYTHON": _python(),
        },
    )
    file = shown / "seen"
    if not file.exists():
        said = done.stderr.strip().splitlines()[-1:] or ["nothing"]
        raise NotHereError(f"systemd cannot begin here ({said[0]})")
    told = file.read_text("utf-8")
    seen = dict(re.findall(r"^([a-z-]+): (.*)$", told, flags=re.MULTILINE))
    return seen if "over" in seen else {**seen, "broke-off": " ".join(told.split())[-500:]}


def _python() -> str:
    """Return a Python of this version that the unit can see, which may look into no home."""
    name = f"python{sys.version_info.major}.{sys.version_info.minor}"
    for folder in (Path(sys.base_prefix, "bin"), Path("/usr/bin")):
        python = folder / name
        if python.exists() and folder.parts[1] not in HOMES:
            return str(python)
    raise NotHereError(f"{name} stands in somebody's home, where a service does not look")
