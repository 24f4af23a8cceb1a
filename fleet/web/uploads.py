"""Large files on their way in, kept on the disk for temporary files until a view takes them."""

import contextlib
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler

from fleet.web.full import is_full


class Uploads(TemporaryFileUploadHandler):
    """Where the disk for temporary files is full, leave the file out and say so on the request (`no_room`).

    What was typed beside it is still read, so that it can stand ready to be sent again.
    """

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        """Begin a file."""
        try:
            super().new_file(*args, **kwargs)
        except OSError as wrong:
            self._leave_out(wrong)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Write a part of it."""
        try:
            super().receive_data_chunk(raw_data, start)
        except OSError as wrong:
            self._leave_out(wrong)

    def file_complete(self, file_size: int) -> UploadedFile | None:
        """The file, whole; None where its last part did not fit."""
        try:
            return super().file_complete(file_size)
        except OSError as wrong:
            with contextlib.suppress(SkipFile):
                self._leave_out(wrong)
        return None

    def _leave_out(self, wrong: OSError) -> None:
        if not is_full(wrong):
            raise wrong
        assert self.request is not None
        self.request.no_room = True  # type: ignore[attr-defined]
        file = self.__dict__.pop("file", None)
        if file is not None:
            with contextlib.suppress(OSError):  # what is left over of it does not fit either
                file.close()
        raise SkipFile from wrong
