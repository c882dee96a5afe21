"""Where passwords and tokens are: files of their own, or credentials of the service manager."""

from __future__ import annotations

import os
from pathlib import Path

from steepwell.errors import SecretError

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
    if given is not None and os.access(handed := Path(given) / file.name, os.R_OK):
        return handed
    return file if file.is_absolute() else folder / file


def has_secret(file: Path, folder: Path) -> bool:
    """Return whether there is a file for a secret, which we may read."""
    return os.access(secret_file(file, folder), os.R_OK)


def read_secret(what: str, file: Path, folder: Path) -> str:
    """Return a secret that the garden file names a file for.

    Parameters
    ----------
    what
        What it is, in words: "the broker's password".
    file
        As the garden file has it.
    folder
        The folder of the garden file.

    Returns
    -------
    str
        The secret, without blanks around it.

    Raises
    ------
    SecretError
        If it cannot be read, or nothing stands there.
    """
    path = secret_file(file, folder)
    try:
        secret = path.read_text(encoding="utf-8").strip()
    except OSError as error:
        why = (error.strerror or type(error).__name__).lower()
    except UnicodeDecodeError:
        why = "it is no text"
    else:
        if secret:
            return secret
        why = "it is empty"
    raise SecretError(
        f"{what} cannot be read from {path} ({why}); put it there, so that the daemon may read "
        f"it, or have systemd hand it over as the credential {file.name}"
    )
