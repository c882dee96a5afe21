"""The unit of config/ under a real systemd that has a root of its own."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

from tests.faults.faults_table import Fault, NotHereError, Seen

ROOT = Path(__file__).parents[2]
SYSTEMD = Path("/lib/systemd/systemd")
WITHIN_S = 300.0
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
mkdir -p opt/steepwell/checkout opt/steepwell/libraries before
mount --bind "$CHECKOUT" opt/steepwell/checkout
mount --bind "$LIBRARIES" opt/steepwell/libraries
mount -t proc proc proc
mount -t sysfs -o ro sysfs sys
mount -t tmpfs tmpfs run
mount -t tmpfs tmpfs tmp
mount --rbind /dev dev
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
printf '[Unit]\\nDefaultDependencies=no\\nWants=look.service\\n' >etc/systemd/system/look.target
printf '[Unit]\\nDefaultDependencies=no\\n[Service]\\nType=oneshot\\nExecStart=/bin/bash %s\\n' \
    /run/look >etc/systemd/system/look.service
printf '%s' "$LOOK" >run/look
mkdir shown
mount --bind "$SHOWN" shown
pivot_root . before
umount -l before
exec env -i container=other PATH=/usr/sbin:/usr/bin:/sbin:/bin \
    /lib/systemd/systemd --system --unit=look.target --log-target=null --show-status=no
"""
# What the service manager knows, a line a moment.
LOOK = r"""
exec >/shown/seen 2>&1
look() { systemctl show steepwell --property "$2" --value | paste -sd ' ' | sed "s/^/$1: /"; }
systemctl start steepwell
echo "start: $?"
look state ActiveState
look ended-with ExecMainStatus
if ! systemctl is-active --quiet steepwell; then
    journalctl --no-pager --lines 3 --unit steepwell
    systemctl poweroff --force --force
fi
look status StatusText
first=$(systemctl show steepwell --property MainPID --value)
echo "owner: $(stat -c %U /proc/"$first") $(stat -c %U /var/lib/private/steepwell/steepwell.db)"
rights=$(awk '/^(CapEff|NoNewPrivs|Seccomp):/ { print $2 }' /proc/"$first"/status | paste -sd ' ')
echo "rights: $rights"
systemctl reload steepwell
echo "reload: $?"
look kept MainPID | sed "s/$first/same/"
systemctl kill --signal=KILL --kill-whom=main steepwell
for _ in $(seq 600); do
    again=$(systemctl show steepwell --property MainPID --value)
    [ "$again" != 0 ] && [ "$again" != "$first" ] && systemctl is-active --quiet steepwell && break
    sleep 0.1
done
look restarts NRestarts
look state-again ActiveState
systemctl stop steepwell
look result Result
echo "left: $(ls /var/lib/private/steepwell/*.in-use 2>/dev/null | wc -l)"
systemctl poweroff --force --force
"""
EXPECTED = {
    "start": "0",
    "state": "active",
    "ended-with": "0",
    "owner": "steepwell steepwell",
    # No capability, no new privileges, a filter of system calls.
    "rights": "0000000000000000 1 2",
    "reload": "0",
    "kept": "same",
    "restarts": "1",
    "state-again": "active",
    "result": "success",
    "left": "0",
}


def under_systemd(folder: Path) -> Seen:
    """Start, reload, kill and stop the unit, and tell what systemd said of it."""
    if os.geteuid() != 0:
        raise NotHereError("only root may give systemd a root of its own")
    if not SYSTEMD.exists() or shutil.which("unshare") is None:
        raise NotHereError("systemd or unshare is not installed")
    here, shown = folder / "root", folder / "shown"
    here.mkdir()
    shown.mkdir()
    of_its_own = ("--mount", "--pid", "--fork", "--net", "--ipc", "--uts", "--cgroup")
    command = (
        "unshare",
        *of_its_own,
        "--kill-child",
        "--propagation",
        "private",
        "bash",
        "-c",
        BEGIN,
    )
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
            "LOOK": LOOK,
            "CHECKOUT": str(ROOT),
            "LIBRARIES": sysconfig.get_path("purelib"),
            "PYTHON": _python(),
        },
    )
    file = shown / "seen"
    if not file.exists():
        said = done.stderr.strip().splitlines()[-1:] or ["nothing"]
        raise NotHereError(f"systemd cannot begin here ({said[0]})")
    seen = dict(re.findall(r"^([a-z-]+): (.*)$", file.read_text("utf-8"), flags=re.MULTILINE))
    off = {key: seen.get(key) for key, wanted in EXPECTED.items() if seen.get(key) != wanted}
    if off:
        return Seen(f"otherwise: {off}", is_expected=False)
    return Seen(
        f"ready (“{seen['status']}”) as a user of its own without a capability; read anew as the "
        "same process; killed: started again; stopped in order",
        is_expected=True,
    )


def _python() -> str:
    """Return a Python of this version that the unit can see, which may look into no home."""
    name = f"python{sys.version_info.major}.{sys.version_info.minor}"
    for folder in (Path(sys.base_prefix, "bin"), Path("/usr/bin")):
        python = folder / name
        if python.exists() and folder.parts[1] not in HOMES:
            return str(python)
    raise NotHereError(f"{name} stands in somebody's home, where a service does not look")


FAULTS = (
    Fault(
        "the unit under systemd, killed",
        "ready, reloads, is started again, stops in order",
        under_systemd,
    ),
)
