"""Tests of the crops that are written."""

from pathlib import Path

from PIL import Image

from listkit.compute.crops import crop_box
from listkit.picture.encode import CropJob, CropPlan, make_crops, verify_picture


def test_one_photo_gives_every_crop_of_its_plan_and_each_is_verified(tmp_path: Path) -> None:
    photo = tmp_path / "photo.png"
    Image.linear_gradient("L").resize((900, 600)).convert("RGB").save(photo)
    kinds = ("jpeg", "webp", "avif", "png")
    cut = crop_box((900, 600), None, (1, 1), width=300)
    plan = CropPlan(tuple(CropJob(kind, cut, format=kind, alt="An open box") for kind in kinds))
    paths = tuple(tmp_path / f"crop-{kind}.tmp" for kind in kinds)
    make_crops(photo, plan, paths)
    for number, path in enumerate(paths):
        assert verify_picture(path, make_crops, (photo, plan), number=number) == ""
        with Image.open(path) as crop:
            assert crop.size == (300, 300)
