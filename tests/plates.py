"""Nameplates made for tests: a code of a kind with its words below, turned, blurred and noisy, the same for each seed."""

import io
import random

import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

KINDS = {
    "Code 128": zxingcpp.BarcodeFormat.Code128,
    "Code 39": zxingcpp.BarcodeFormat.Code39,
    "Data Matrix": zxingcpp.BarcodeFormat.DataMatrix,
    "QR code": zxingcpp.BarcodeFormat.QRCode,
}
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ0123456789"


def serial(chance: random.Random) -> str:
    """A serial of ten signs that no maker has."""
    return "".join(chance.choice(LETTERS) for _ in range(10))


def code(kind: str, text: str, *, module: int) -> Image.Image:
    """A code whose narrowest bar is so many pixels wide."""
    made = zxingcpp.create_barcode(text, KINDS[kind])
    image = memoryview(made.to_image(scale=module, add_quiet_zones=True))
    return Image.frombytes("L", (image.shape[1], image.shape[0]), image.tobytes())


def plate(*codes: tuple[str, str], module: int = 4, size: tuple[int, int] = (1600, 1200)) -> Image.Image:
    """A gray plate with codes one below the other, each with what it says printed below it."""
    picture = Image.new("L", size, 205)
    pen = ImageDraw.Draw(picture)
    top = size[1] // 5
    for kind, text in codes:
        drawn = code(kind, text, module=module)
        if kind.startswith("Code"):
            drawn = drawn.resize((drawn.width, max(drawn.height, drawn.width // 4)))
        picture.paste(drawn, ((size[0] - drawn.width) // 2, top))
        pen.text(((size[0] - drawn.width) // 2, top + drawn.height + 6), text, fill=20, font_size=36)
        top += drawn.height + 90
    return picture


def worn(picture: Image.Image, *, degrees: float, blur: float, seed: int) -> Image.Image:
    """The same as a phone may see it: turned, out of focus, with less contrast and some noise."""
    chance = random.Random(seed)
    picture = picture.rotate(degrees, Image.Resampling.BICUBIC, fillcolor=205)
    picture = picture.filter(ImageFilter.GaussianBlur(blur))
    dark = chance.randint(15, 50)
    picture = picture.point(lambda value: dark + value * (230 - dark) // 255)
    noise = Image.frombytes("L", picture.size, random.Random(seed).randbytes(picture.width * picture.height))
    return Image.blend(picture, noise, 0.05)


def jpeg(picture: Image.Image, *, quality: int = 80, orientation: int = 0) -> bytes:
    """The picture as a phone sends it; `orientation` is how the camera was held, as EXIF has it."""
    out = io.BytesIO()
    exif = Image.Exif()
    if orientation:
        exif[0x0112] = orientation
    picture.convert("RGB").save(out, "JPEG", quality=quality, exif=exif)
    return out.getvalue()
