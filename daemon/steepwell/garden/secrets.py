"""Where passwords and tokens are: files of their own, or credentials of the service manager."""

from __future__ import annotations

import os
from pathlib import Path

CREDENTIALS = "CREDENTIALS_DIRECTORY"


def secret_file(file: Path, folder: Path) -> Path:
    """Return where a secret is that the garden file names.

    A credential that the service manager hands over under the name of the file goes before the
    file itself (systemd.exec(5), ``LoadCredential=``).

    Parameters
    ----------
    file
        As the garden file has it.
    folder
        The folder of the garden file, where a relative path begins.

    Returns
    -------
    Path
        The file to read.
    """
    given = os.environ.get(CREDENTIALS)
    if given is not None and (handed := Path(given) / file.name).is_file():
        return handed
    return file if file.is_absolute() else folder / file
