"""WebVTT by the W3C specification (editor's source, May 2026) and SRT in its wild forms (Matroska's notes; each variant from
an issue in a public tracker). Timings are theirs; the words are ours."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aftercount.logs import srt, webvtt
from logs.reading_logs import read, said, utc


@pytest.mark.parametrize(("text", "seconds"), [
    ("00:11.000", 11.0), ("01:24.000", 84.0), ("00:00:00.000", 0.0), ("000:00:00.000", 0.0), ("60:00:01.000", 216001.0),
    ("123:45:06.789", 445506.789), ("0:00:00.000", 0.0),
])
def test_webvtt_timestamps(text: str, seconds: float) -> None:
    assert webvtt.seconds_us(text) == round(seconds * 1e6)


@pytest.mark.parametrize("text", [
    "60:00.000", "00:60:00.000", "00:00:60.000", "0:00.000", "000:00.000", "0000:00.000", "00:0.000", "00:000.000", "00:00.00",
    "00:00.0000", "00:00.", "00:00:00", "00:00:00,000", "00:00..000", "-00:00.000", "00:00:00.-004",
])
def test_webvtt_timestamps_that_are_none(text: str, tmp_path: Path) -> None:
    assert webvtt.seconds_us(text) is None
    records, rejects, _ = read(tmp_path, "a.vtt", f"WEBVTT\n\n{text} --> 01:00:00.000\nwords\n\n00:01.000 --> {text}\nwords\n")
    assert len(records) == 0 and list(rejects["line"]) == [3, 6]


def test_arrows_without_blanks_and_settings(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "a.vtt", "WEBVTT\n\n00:01.000-->00:02.000\na\n\n00:03.000 --> 00:04.000 position:10%,line-left align:left size:35% odd\nb\n")
    assert list(records["own_us"]) == [1_000_000, 3_000_000] and list(records["text"]) == ["a", "b"]
    assert len(rejects) == 0


def test_arrows_in_identifiers_and_blocks_without_blanks(tmp_path: Path) -> None:
    blocks = "".join(f"{name}\n00:00:00.000 --> 00:00:01.000\ntext{i}\n" for i, name in enumerate(["-->", "foo-->", "-->foo", "--->", "-->-->"], 1))
    text = f"WEBVTT\n\n{blocks}00:00:00.000 --> 00:00:01.000\ntext6\n\n" + "".join(f"00:00:00.000 {arrow}\n" for arrow in ("-a -->", "--a -->", "- -->", "-- -->"))
    records, _, sources = read(tmp_path, "a.vtt", text)
    assert list(records["text"]) == [f"text{i}" for i in range(1, 7)]
    assert sources["entries"][0] == 6


def test_identifiers_keep_blanks(tmp_path: Path) -> None:
    ids = [" leading space", "trailing space ", "-- >", "->", " "]
    records, rejects, _ = read(tmp_path, "a.vtt", "WEBVTT\n\n" + "".join(f"{i}\n00:01.000 --> 00:02.000\ncue\n\n" for i in ids))
    assert len(records) == 5 and len(rejects) == 0


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("head", ["WEBVTT", "\ufeffWEBVTT", "WEBVTT some words\nKind: captions", "WEBVTT\tx"])
def test_signature_and_line_ends(tmp_path: Path, head: str, end: str) -> None:
    text = f"{head}\n\nNOTE\nnot a cue\n\nSTYLE\n::cue {{}}\n\nNOTE\n00:01.000 --> 00:02.000\na cue named NOTE\n\n00:02.000 --> 00:03.000\nNOTE is said\n"
    records, rejects, sources = read(tmp_path, "a.vtt", text.replace("\n", end))
    assert list(records["text"]) == ["a cue named NOTE", "NOTE is said"]
    assert [r.split(",")[0] for r in rejects["reason"]] == ["a NOTE block", "a STYLE block"]
    assert (sources["entries"][0], sources["rejected"][0]) == (2, 2)


def test_only_a_signature(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "a.vtt", "WEBVTT")
    assert len(records) == len(rejects) == 0


def test_a_wrong_signature_is_told_and_the_rest_kept(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "a.vtt", "WEBVTTfoo\n\n00:01.000 --> 00:02.000\nwords\n", format="webvtt")
    assert list(records["text"]) == ["words"]
    assert rejects[["line", "reason"]].values.tolist() == [[1, "not the WEBVTT signature"]]


def test_voice_spans(tmp_path: Path) -> None:
    """The specification's example shape: classes, an unclosed span, a closed one with words after it."""
    cues = ["<v.first.loud Esme>Valve is <i>open</i>", "<v Mary>No way!", "<v Esme>Copy</v> <i>static</i>", "<v.loud   Launch   Director >Hold", "<v Rex &amp; Co>go"]
    text = "WEBVTT\n\n" + "".join(f"00:0{2 * i}.000 --> 00:0{2 * i + 2}.000\n{c}\n\n" for i, c in enumerate(cues[:4])) + f"00:20.000 --> 00:21.000\n{cues[4]}\n"
    records, _, sources = read(tmp_path, "a.vtt", text)
    assert said(records) == [("Esme", None, "Valve is open"), ("Mary", None, "No way!"), ("Esme", None, "Copy"), (None, None, "static"),
                             ("Launch Director", None, "Hold"), ("Rex & Co", None, "go")]
    assert sources["entries"][0] == 5


def test_several_speakers_share_a_cue_by_their_words(tmp_path: Path) -> None:
    records, _, sources = read(tmp_path, "a.vtt", "WEBVTT\n\n7\n00:12:31.000 --> 00:12:36.000\n<v test conductor>PROP, TC, go</v> <v PROP>in work\n\n"
                               "00:13:00.000 --> 00:13:04.000\nTC: hold\nhold\nPROP: copy hold\n")
    assert said(records) == [("TC", None, "PROP, TC, go"), ("PROP", None, "in work"), ("TC", None, "hold hold"), ("PROP", None, "copy hold")]
    assert list(records["own_us"]) == [751_000_000, 754_000_000, 780_000_000, 782_000_000]
    assert list(records["dur_us"]) == [3_000_000, 2_000_000, 2_000_000, 2_000_000]
    assert list(records["line"]) == [3, 3, 7, 7]
    assert (sources["entries"][0], sources["time"][0]) == (2, "elapsed")
    assert set(records["medium"]) == {"speech"}


def test_escapes(tmp_path: Path) -> None:
    records, _, _ = read(tmp_path, "a.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\n&lt;go&gt; &amp; no &&&1;&; &quot;x&quot; &copy; &#32;y\n")
    assert records["text"][0] == '<go> & no &&&1;&; "x" \u00a9 y'


def test_a_cue_without_words_is_a_reject(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "a.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\n<i></i>\n")
    assert len(records) == 0 and rejects["reason"][0] == "a cue without words"


def test_cues_in_wall_time(tmp_path: Path) -> None:
    records, _, sources = read(tmp_path, "a.vtt", "WEBVTT\n\n13:00:00.000 --> 13:00:02.000\nTC: start\n\n14:31:00.000 --> 14:31:02.000\nTC: go\n")
    assert utc(records) == ["2031-04-18T13:00:00.000", "2031-04-18T14:31:00.000"]
    assert "wall time" in sources["note"][0]


def test_srt_by_the_matroska_example(tmp_path: Path) -> None:
    assert srt.timing("00:02:17,440 --> 00:02:20,375") == ("00:02:17,440", 137_440_000, 140_375_000)
    records, _, _ = read(tmp_path, "a.srt", "1\r\n00:02:17,440 --> 00:02:20,375\r\nTC: go for step 4\r\n\r\n2\r\n00:02:21,000 --> 00:02:22,000\r\nin work\r\n")
    assert list(records["dur_us"]) == [2_935_000, 1_000_000] and said(records)[0] == ("TC", None, "go for step 4")
    assert list(records["line"]) == [1, 5]


@pytest.mark.parametrize(("text", "starts", "words"), [
    ("1\n00:00:01.500 --> 00:00:02.000\na\n", [1_500_000], ["a"]),
    ("1\n00:00:20 --> 00:00:24\na\n", [20_000_000], ["a"]),
    ("1\n00:00:01,5 --> 00:00:02,50\na\n", [1_500_000], ["a"]),
    ("1\n\n00:00:01,000 --> 00:00:02,000\n\na\n\nb\n\n", [1_000_000], ["a b"]),
    ("\n\n\n1\n00:00:01,000 --> 00:00:02,000\na\n", [1_000_000], ["a"]),
    ("1\n00:00:01,000 --> 00:00:02,000\nis 1.567.202. bar\n", [1_000_000], ["is 1.567.202. bar"]),
    ("1\n00:00:01,000 --> 00:00:02,000\na\n2\n00:00:03,000 --> 00:00:04,000\nb\n", [1_000_000, 3_000_000], ["a", "b"]),
    ("00:00:01,000 --> 00:00:02,000\na\n\n7\n00:00:03,000 --> 00:00:04,000 X1:1 X2:2 Y1:3 Y2:4\n<font color=red>b</font>\n", [1_000_000, 3_000_000], ["a", "b"]),
    ("1\n00:00:05,000 --> 00:00:02,000\nends before it starts\n", [5_000_000], ["ends before it starts"]),
    ("1\n00:00:01,000 --> 00:00:02,000\n42\n", [1_000_000], ["42"]),
])
def test_srt_variants(tmp_path: Path, text: str, starts: list[int], words: list[str]) -> None:
    records, rejects, _ = read(tmp_path, "a.srt", text)
    assert (list(records["own_us"]), list(records["text"])) == (starts, words)
    assert len(rejects) == 0


def test_srt_changes_of_speaker_and_bad_times(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "a.srt", "intro\n1\n00:00:01,000 --> 00:00:05,000\n- TC: hold\n- copy\n\n2\n00:75:01,000 --> 00:00:06,000\nlost\n")
    assert said(records) == [("TC", None, "hold"), (None, None, "copy")]
    assert rejects[["line", "reason"]].values.tolist() == [[1, "stands before the first cue"], [8, "not a timing line"]]


@given(st.lists(st.tuples(st.integers(0, 10**9), st.integers(0, 10**6)), min_size=1, max_size=8))
def test_cue_times_round_trip(tmp_path_factory: pytest.TempPathFactory, times: list[tuple[int, int]]) -> None:
    def shown(ms: int, point: str) -> str:
        return f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}:{ms // 1000 % 60:02d}{point}{ms % 1000:03d}"

    folder = tmp_path_factory.mktemp("cues")
    for name, point, head in (("a.vtt", ".", "WEBVTT\n\n"), ("a.srt", ",", "")):
        body = "".join(f"{shown(s, point)} --> {shown(s + d, point)}\nword\n\n" for s, d in times)
        records, rejects, _ = read(folder, name, head + body, time="elapsed")
        assert list(records["own_us"]) == [s * 1000 for s, _ in times]
        assert list(records["dur_us"]) == [d * 1000 for _, d in times]
        assert len(rejects) == 0
