"""Colours: from whatever a picture is stored in to sRGB (IEC 61966-2-1) through its embedded profile.

A picture without a profile is taken as sRGB and the name "untagged" says so. A profile that moves no
colour by more than one level of 255 is sRGB, whatever it calls itself, and nothing is converted.
"""

from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO

from PIL import Image, ImageChops, ImageCms, ImageMath, ImageStat

from listkit.picture.open import BROKEN
from listkit.problem import FieldError

_STEPS = (0, 32, 64, 96, 128, 160, 192, 224, 255)
_PROBE = bytes(level for red in _STEPS for green in _STEPS for blue in _STEPS for level in (red, green, blue))


@dataclass(frozen=True, slots=True)
class Colours:
    """How one photo's colours become sRGB: the profile's name, and the transform where one is needed."""

    name: str
    transform: ImageCms.ImageCmsTransform | None = None

    def srgb(self, image: Image.Image) -> Image.Image:
        """Return the picture in sRGB, mode RGB, or RGBA where it has alpha."""
        mode = _target(image.mode)
        if self.transform is not None:
            turned = ImageCms.applyTransform(image, self.transform)
            image = image if turned is None else turned
        return image if image.mode == mode else image.convert(mode)


def colours_of(mode: str, profile: bytes) -> Colours:
    """Return how a picture of `mode` (L, RGB, RGBA or CMYK) with this ICC profile becomes sRGB.

    The name is "untagged" without a profile, "unreadable" where it does not fit the picture: both are taken as sRGB.

    Raises:
        FieldError: a CMYK picture has no usable profile, so its colours cannot be known.
    """
    if not profile and mode != "CMYK":
        return Colours("untagged")
    try:
        name, moves = _judged(profile, "RGB" if mode == "RGBA" else mode)
        return Colours(name, _transform(profile, mode) if moves else None)
    except (ImageCms.PyCMSError, *BROKEN):
        if mode != "CMYK":
            return Colours("unreadable")
    raise FieldError("the profile of the picture's printing colours (CMYK) cannot be read.", "Export it as sRGB.")


@lru_cache(maxsize=32)
def _judged(profile: bytes, mode: str) -> tuple[str, bool]:
    """Return a profile's name and whether it moves any colour of a 9 × 9 × 9 grid by more than one level."""
    transform = _transform(profile, mode)
    if mode == "RGB":
        before = Image.frombytes(mode, (len(_STEPS) ** 3, 1), _PROBE)
        after = ImageCms.applyTransform(before, transform)
        moved = ImageStat.Stat(ImageChops.difference(before, before if after is None else after)).extrema
        if all(most <= 1 for _, most in moved):
            return "sRGB", False
    name = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(BytesIO(profile)))
    return " ".join(name.split()) or "unnamed", True


def _transform(profile: bytes, mode: str) -> ImageCms.ImageCmsTransform:
    return ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(BytesIO(profile)),
        ImageCms.createProfile("sRGB"),
        mode,
        _target(mode),
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )


def _target(mode: str) -> str:
    return "RGBA" if mode == "RGBA" else "RGB"


def on_page(image: Image.Image, background: str) -> Image.Image:
    """Return an sRGB picture without alpha, as it looks on a page of that colour."""
    if image.mode != "RGBA":
        return image
    return Image.alpha_composite(Image.new("RGBA", image.size, background), image).convert("RGB")


def _linear(encoded: int) -> float:
    """IEC 61966-2-1: an encoded level from 0 to 255 as linear light from 0 to 1."""
    share = encoded / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def _encoded(linear: float) -> float:
    """IEC 61966-2-1: linear light from 0 to 1 as an encoded share from 0 to 1."""
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055


@cache
def to_linear() -> list[int]:
    """Return the linear light, 0 to 65535, of each 8 bit sRGB level."""
    return [round(_linear(level) * 65535) for level in range(256)]


@cache
def from_linear() -> list[int]:
    """Return the 8 bit sRGB level of each linear light from 0 to 65535."""
    return [round(_encoded(light / 65535) * 255) for light in range(65536)]


@cache
def _lightness_of_light() -> list[int]:
    """Return the CIE 1976 lightness L* (CIE 15, 8.2.1), 0 to 255 for 0 to 100, of each linear light from 0 to 65535."""
    shares = (light / 65535 for light in range(65536))
    return [round(2.55 * (116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3)) for y in shares]


def mean_lightness(image: Image.Image) -> float:
    """Return the mean CIE lightness L* ÷ 100 of an sRGB picture: 18 % grey gives 0.495.

    The luminance Y is 0.2126 R + 0.7152 G + 0.0722 B of linear light (Rec. ITU-R BT.709).
    """
    red, green, blue = (band.point(to_linear(), "I") for band in image.split())
    light: Image.Image = ImageMath.lambda_eval(
        lambda given: given["convert"](given["red"] * 0.2126 + given["green"] * 0.7152 + given["blue"] * 0.0722, "I"),
        red=red.convert("F"), green=green.convert("F"), blue=blue.convert("F"),
    )  # fmt: skip
    return float(ImageStat.Stat(light.point(_lightness_of_light(), "L")).mean[0]) / 255
