"""The palette keeps its promises: contrast, and signs that stay apart for colour-blind eyes and in grey.

Contrast by WCAG 2.1 (relative luminance). Colour blindness by the matrices of Machado, Oliveira and Fernandes, 2009
(severity 1.0), applied to linear RGB. Distances in CIE Lab (CIE76, D65).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from aftercount.report.look import DARK, LIGHT, MARKERS, PATHS, SIGN_WORDS, Palette

MACHADO = {
    "normal": np.eye(3),
    "protan": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "deutan": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "tritan": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}
COLOURED = ("on_time", "late", "early", "missed")


def linear(colour: str) -> np.ndarray:
    rgb = np.array([int(colour[i:i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def contrast(a: str, b: str) -> float:
    high, low = sorted((float(linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (a, b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ np.clip(rgb, 0, 1)
    x, y, z = (v ** (1 / 3) if v > 0.008856 else 7.787 * v + 16 / 116 for v in xyz / np.array([0.9505, 1.0, 1.089]))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def test_the_measures_themselves() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert lab(linear("#ffffff")) == pytest.approx([100, 0, 0], abs=0.1)
    for matrix in MACHADO.values():
        assert matrix.sum(axis=1) == pytest.approx([1, 1, 1], abs=1e-5), "greys stay grey"


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_contrast(palette: Palette) -> None:
    for ground in (palette.ground, palette.panel, palette.band):
        for text in (palette.ink, palette.soft, palette.link):
            assert contrast(text, ground) >= 4.5, (text, ground)
        for sign in SIGN_WORDS:
            assert contrast(palette.sign(sign), ground) >= 3.0, (sign, ground)
    assert contrast(palette.hold_edge, palette.ground) >= 4.5
    assert contrast(palette.hold_edge, palette.hold) >= 3.0
    for sign in SIGN_WORDS:
        assert contrast(palette.sign(sign), palette.hold) >= 3.0, (sign, "on a hold")


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("eyes", MACHADO)
def test_signs_stay_apart(palette: Palette, eyes: str) -> None:
    seen = {name: lab(MACHADO[eyes] @ linear(palette.sign(name))) for name in COLOURED}
    for a, b in combinations(COLOURED, 2):
        assert np.linalg.norm(seen[a] - seen[b]) >= 20, (eyes, a, b)


def test_every_sign_has_its_own_shape() -> None:
    assert len(set(MARKERS.values())) == len(MARKERS) == len(SIGN_WORDS) == len(set(PATHS.values()))
    assert set(MARKERS) == set(PATHS) == set(SIGN_WORDS)
