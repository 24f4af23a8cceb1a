"""When a disk is full, whoever says so."""

import errno
import sqlite3

import psycopg.errors
from django.db import DatabaseError


def is_full(exception: Exception) -> bool:
    """Whether nothing more fits: on the disk of files, or on that of the database."""
    if isinstance(exception, DatabaseError):
        code = getattr(exception.__cause__, "sqlite_errorcode", 0)
        return code & 0xFF == sqlite3.SQLITE_FULL or isinstance(exception.__cause__, psycopg.errors.DiskFull)
    return isinstance(exception, OSError) and exception.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
