"""Photos: crops per CPU second and peak memory against a second implementation, and what the speed costs in quality.

Prints figures and asserts nothing: python -m tests.bench.bench_photos [--photos 16] [--workers 2] [--no-quality].
Needs the extra [peers]: pyvips is the second implementation, scikit-image gives SSIM and some of the pictures.
Sixteen photographs of 12 megapixels are made from the demo shop's renders and scikit-image's pictures, enlarged,
with noise of three levels added as a sensor would; six crops of each are written as JPEG, quality 85.
Both take turns for some rounds and the best round of each counts, since other work on the machine disturbs both.
"""

import argparse
import os
import platform
import statistics
import subprocess
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import PIL
from PIL import Image

from listkit.picture.encode import SRGB, make_crops
from tests.bench.photos_listkit import CROPS, SIZE, plan

try:
    import pyvips
    import skimage.data
    from skimage.metrics import structural_similarity
except ImportError:
    sys.exit("bench_photos needs the extra [peers]: pip install listkit[peers]")

DEMO = Path(__file__).parents[2] / "demo_shop" / "sets"
PICTURES = ("coffee", "chelsea", "rocket", "immunohistochemistry", "retina", "hubble_deep_field")
NOISE = 3.0
ROUNDS = 3
CONTENDERS = {
    "listkit": ["tests.bench.photos_listkit"],
    "pyvips": ["tests.bench.photos_pyvips"],
    "pyvips, Huffman tables not optimized": ["tests.bench.photos_pyvips", "--plain"],
}


def photographs(folder: Path, count: int) -> list[Path]:
    """Write `count` different photographs of 12 megapixels as JPEG, quality 92, and return their paths."""
    renders = [Image.open(path).convert("RGB") for path in sorted(DEMO.glob("*/photos/*.jpg"))[::4]]
    shots = [Image.fromarray(getattr(skimage.data, name)()).convert("RGB") for name in PICTURES]
    noise = np.random.default_rng(11)
    paths = []
    for number, source in enumerate([*shots, *renders][:count]):
        wide = source.resize(SIZE, Image.Resampling.BICUBIC)
        rough = np.asarray(wide, np.float32) + noise.normal(0, NOISE, (SIZE[1], SIZE[0], 3)).astype(np.float32)
        paths.append(folder / f"photo-{number:02}.jpg")
        Image.fromarray(rough.round().clip(0, 255).astype(np.uint8)).save(paths[-1], quality=92, icc_profile=SRGB)
    return paths


def cpu_and_peak(arguments: list[str], photos: list[Path], workers: int) -> tuple[float, float]:
    """Return the CPU seconds of all workers together and the largest peak memory in MB."""
    command = [sys.executable, "-m", *arguments]
    environment = {**os.environ, "VIPS_CONCURRENCY": "1"}
    shares = [[str(photo) for photo in photos[start::workers]] for start in range(workers)]
    running = [
        subprocess.Popen([*command, *share], stdout=subprocess.PIPE, env=environment, text=True) for share in shares
    ]
    printed = [worker.communicate()[0].split() for worker in running]
    return sum(float(cpu) for cpu, _ in printed), max(float(peak) for _, peak in printed)


def speed(photos: list[Path], workers: int) -> None:
    """Print each contender's crops per CPU second in its best round, and how they compare."""
    rounds: dict[str, list[tuple[float, float]]] = {name: [] for name in CONTENDERS}
    for _ in range(ROUNDS):
        for name, arguments in CONTENDERS.items():
            rounds[name].append(cpu_and_peak(arguments, photos, workers))
    crops, rates = len(photos) * len(CROPS), {}
    for name, figures in rounds.items():
        rates[name] = crops / min(cpu for cpu, _ in figures)
        every = ", ".join(f"{cpu:.2f}" for cpu, _ in figures)
        peak = max(peak for _, peak in figures)
        print(f"{name}: {crops} crops, {rates[name]:.1f} a CPU second ({every} CPU s), peak {peak:.0f} MB a worker")
    mine, same, plain = rates.values()
    against = f"{mine / same:.2f} times its crops a CPU second (goal 1.5); plain {mine / plain:.2f}"
    print(f"against pyvips: {against}")


def likeness(photo: Path) -> list[tuple[float, float]]:
    """Return PSNR in dB and SSIM of each crop, written without loss, against one Lanczos step from the original."""
    made = tuple(photo.with_suffix(f".{number}.png") for number in range(len(CROPS)))
    make_crops(photo, plan("png"), made)
    figures = []
    with Image.open(photo) as original:
        for crop, path in zip(plan("png").crops, made, strict=True):
            cut = crop.cut
            box = (cut.left, cut.top, cut.right, cut.bottom)
            best = original.resize((cut.width, cut.height), Image.Resampling.LANCZOS, box)
            with Image.open(path) as shown:
                one, other = np.asarray(best, np.float32), np.asarray(shown, np.float32)
            error = float(np.mean((one - other) ** 2))
            similar = structural_similarity(one, other, channel_axis=2, data_range=255)
            figures.append((10 * float(np.log10(255**2 / max(error, 1e-9))), float(similar)))
            path.unlink()
    return figures


def quality(photos: list[Path], workers: int) -> None:
    """Print the worst PSNR and SSIM of every crop over all photos."""
    with ProcessPoolExecutor(workers) as pool:
        figures = list(pool.map(likeness, photos))
    for number, (wide, high) in enumerate(CROPS):
        psnr, ssim = ([figure[number][of] for figure in figures] for of in (0, 1))
        print(f"{wide:5} x {high:<5} PSNR worst {min(psnr):5.1f} dB, mean {statistics.mean(psnr):5.1f}; "
              f"SSIM worst {min(ssim):.4f}, mean {statistics.mean(ssim):.4f}")  # fmt: skip
    lowest = [min(figure[of] for photo in figures for figure in photo) for of in (0, 1)]
    print(f"all crops: PSNR at least {lowest[0]:.1f} dB (goal 40), SSIM at least {lowest[1]:.4f} (goal 0.99)")


def main() -> None:
    """Make the photographs in a temporary folder, let each write the crops, print the comparison."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--photos", type=int, default=16)
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--no-quality", action="store_true")
    options = asked.parse_args()
    libvips = ".".join(str(pyvips.version(part)) for part in range(3))
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
          f"Pillow {PIL.__version__}, libvips {libvips}, {options.workers} workers")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        photos = photographs(Path(folder), options.photos)
        speed(photos, options.workers)
        if not options.no_quality:
            quality(photos, options.workers)


if __name__ == "__main__":
    main()
