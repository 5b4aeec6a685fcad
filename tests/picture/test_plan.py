"""Tests of the plan that a photo job carries."""

import pickle
from dataclasses import FrozenInstanceError

import pytest

from listkit.model.photo import Cut
from listkit.picture.encode import ENDINGS, CropJob, CropPlan


def test_a_plan_is_frozen_hashable_and_comes_whole_through_another_process() -> None:
    plan = CropPlan((CropJob("grid", Cut(0, 0, 10, 10, 10, 10), alt="An open box"),))
    assert pickle.loads(pickle.dumps(plan)) == plan
    assert hash(plan) == hash(CropPlan((CropJob("grid", Cut(0, 0, 10, 10, 10, 10), alt="An open box"),)))
    with pytest.raises(FrozenInstanceError):
        plan.crops = ()  # type: ignore[misc]


def test_every_format_has_its_ending() -> None:
    assert set(ENDINGS) == {"jpeg", "webp", "avif", "png"}
    assert ENDINGS["jpeg"] == ".jpg"
