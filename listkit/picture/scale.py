"""Cut and scale: one decoded original becomes the finished pixels of any number of crops."""

from PIL import Image

from listkit.model.photo import Cut
from listkit.picture.open import to_srgb


def finished(image: Image.Image, profile: bytes, cut: Cut, *, background: str, ground: str) -> Image.Image:
    """Return one crop as RGB in sRGB: cut, scaled in one Lanczos step, alpha on `background`, padded with `ground`."""
    size = cut.width - cut.pad[0] - cut.pad[2], cut.height - cut.pad[1] - cut.pad[3]
    scaled = image.resize(size, Image.Resampling.LANCZOS, (cut.left, cut.top, cut.right, cut.bottom))
    colour, _ = to_srgb(scaled, profile)
    if colour.mode == "RGBA":
        page = Image.new("RGBA", colour.size, background)
        colour = Image.alpha_composite(page, colour).convert("RGB")
    if any(cut.pad):
        canvas = Image.new("RGB", (cut.width, cut.height), ground)
        canvas.paste(colour, cut.pad[:2])
        colour = canvas
    return colour
