"""How like every distinct text of the logs is to every step of the plan.

Question answered: how much of a step's wording does a text say, how much of the text does the step explain, how surprising are
the words they share in this log, and does the text contradict the step. Conventions: matrices are texts x plan rows; scores
0..1, more is better; `evidence` is in nats. It does not know times, stations or kinds: see `logodds`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from aftercount.match import conflict, fellows, language
from aftercount.match.lexicon import Lexicon
from aftercount.match.wordlikeness import likeness

UNKNOWN_WORD = 0.5  # weight, in the text, of a word that no step has: it may be noise of recognition
PART_OF_FORM = 0.6  # a hit on one word of a spoken form of several: 'oxygen' for LOX
MIN_JOINED = 5  # letters: shorter joins agree by chance
RESEMBLES = 0.20  # coverage of some wording from which a text is compared any further
LEAST_NEAR = 0.6  # likeness from which a word that isn't the plan's is that word misheard or misspelt
LEAST_HIT = 0.25  # likeness below this is no hit at all
GARBLED_TALK = 0.22  # share of misheard words from which a log is garbled: clean talk has up to 0.19, with 15 % word error 0.25 and more


@dataclass(frozen=True)
class Likeness:
    """Texts against plan rows. `text_of[i]` is the row of utterance i; texts that resemble no step share a last row of zeros.
    `fellow`: how much better the text has the word of another step, worded alike but for it, than this one's. `lone`: of a wording of several words the text has one at most. `content` (weight of its telling words), `repeats` (how often the very text occurs) and `garbled` (share of misheard words among the
    plan's words that its log has) are an utterance's."""

    text_of: np.ndarray
    coverage: np.ndarray
    explained: np.ndarray
    evidence: np.ndarray
    lacking: np.ndarray
    conflict: np.ndarray
    fellow: np.ndarray
    lone: np.ndarray
    content: np.ndarray
    repeats: np.ndarray
    garbled: np.ndarray


@dataclass(frozen=True)
class _Words:
    """Texts as word indices: flat `word` with `text` the row each belongs to; `joined` words weigh nothing by themselves."""

    names: tuple[str, ...]
    word: np.ndarray
    text: np.ndarray
    weight: np.ndarray


Spoken = tuple[str, tuple[str, ...]]  # a text, and the stations that say it and are told it


def compare(texts: Sequence[Spoken], logs: np.ndarray, lexicon: Lexicon, stems: Mapping[str, tuple[str, ...]] | None = None) -> Likeness:
    """Likeness of each text to each plan row (rows without words score 0). `logs`: the number of the log each text is from; `stems`: of each text, if at hand."""
    from scipy.sparse import csr_matrix

    distinct = sorted(set(texts))
    position = {text: i for i, text in enumerate(distinct)}
    text_of = np.array([position[text] for text in texts], dtype=np.int64)
    repeats = np.bincount(text_of, minlength=len(distinct)).astype(np.float64)
    said = [lexicon.canonical(*text) if stems is None else lexicon.without_call_signs(stems[text[0]], text[1]) for text in distinct]
    spoken = _words(said, lexicon)
    alike = _alike(spoken.names, lexicon)
    hits = _hits(spoken, alike, len(distinct))
    garbled = _garbled(hits, text_of, logs)
    hits = _plainly(hits, text_of, garbled[logs])
    worth = csr_matrix((spoken.weight, (spoken.text, spoken.word)), shape=(len(said), len(spoken.names)))
    content = np.asarray(worth.sum(axis=1)).ravel()
    coverage = np.asarray(hits @ lexicon.weights.T)
    active = np.flatnonzero(coverage.max(axis=1, initial=0.0) >= RESEMBLES)
    row = np.full(len(distinct), len(active), dtype=np.int64)
    row[active] = np.arange(len(active))
    explained = np.asarray(worth[active] @ _best_in_wording(alike, lexicon)) / np.maximum(content[active], UNKNOWN_WORD)[:, None]
    surprise = _surprise(hits, repeats)
    scores = _Scores(
        coverage[active], explained.astype(np.float32), np.asarray(hits[active] @ (lexicon.present * surprise).T),
        lexicon.present @ surprise, conflict.clashes([said[i] for i in active.tolist()], lexicon), fellows.instead(hits[active], lexicon), _lone(hits[active], lexicon),
    )
    return scores.by_step(row[text_of], _OfUtterance(content[text_of], repeats[text_of], garbled[logs]), lexicon)


def _plainly(hits: Any, text_of: np.ndarray, garbled: np.ndarray) -> Any:
    """The hits without the faint ones of texts that no garbled log has: a word heard as it is ('card') is no other ('record') badly misheard."""
    most = np.zeros(hits.shape[0])
    np.maximum.at(most, text_of, garbled)
    row = np.repeat(np.arange(hits.shape[0]), np.diff(hits.indptr))
    plain = hits.copy()
    plain.data[(most[row] < GARBLED_TALK) & (hits.data < LEAST_NEAR)] = 0.0
    plain.eliminate_zeros()
    return plain


def _lone(hits: Any, lexicon: Lexicon) -> np.ndarray:
    """texts x wordings: 1 where a wording of several words is hit by one of them at most ('tail wind' for 'tail inspection')."""
    words = lexicon.present
    return np.asarray(((hits > 0).astype(np.float32) @ words.T < 2) & (words.sum(axis=1) > 1), dtype=np.float32)


def _garbled(hits: Any, text_of: np.ndarray, logs: np.ndarray) -> np.ndarray:
    """For each log, the share of near hits among all its hits on words of the plan."""
    near = np.asarray(((hits >= LEAST_NEAR).astype(np.float64) - (hits == 1.0).astype(np.float64)).sum(axis=1)).ravel()
    same = np.asarray((hits == 1.0).sum(axis=1)).ravel()
    count = int(logs.max()) + 1 if len(logs) else 0
    nears = np.bincount(logs, weights=near[text_of], minlength=count)
    return nears / np.maximum(nears + np.bincount(logs, weights=same[text_of], minlength=count), 1.0)


@dataclass(frozen=True)
class _OfUtterance:
    content: np.ndarray
    repeats: np.ndarray
    garbled: np.ndarray


@dataclass(frozen=True)
class _Scores:
    """The same figures by wording: texts x wordings; `whole` is the evidence of a wording wholly heard."""

    coverage: np.ndarray
    explained: np.ndarray
    evidence: np.ndarray
    whole: np.ndarray
    clash: np.ndarray
    fellow: np.ndarray
    lone: np.ndarray

    def by_step(self, text_of: np.ndarray, own: _OfUtterance, lexicon: Lexicon) -> Likeness:
        chosen = _best_wording(self.coverage + 0.5 * self.explained - 0.5 * self.clash, lexicon)
        return Likeness(
            text_of, chosen.of(self.coverage), chosen.of(self.explained), chosen.of(self.evidence), chosen.of(self.whole[None, :] - self.evidence), chosen.of(self.clash),
            chosen.of(self.fellow), chosen.of(self.lone), own.content, own.repeats, own.garbled,
        )


def _words(said: Sequence[tuple[str, ...]], lexicon: Lexicon) -> _Words:
    idf = dict(zip(lexicon.vocabulary, lexicon.idf.tolist(), strict=True))
    joins = {(word[:2], len(word) + d) for word in lexicon.vocabulary if len(word) >= MIN_JOINED for d in (-1, 0, 1)}
    numbers = {word for word in lexicon.vocabulary if word.isdigit()}  # 'two twenty' is a 220 of the plan
    worth: dict[str, float] = {}
    names: dict[str, int] = {}
    flat: list[tuple[int, int, float]] = []
    for row, tokens in enumerate(said):
        for at, token in enumerate(tokens):
            if token in language.STOP_STEMS and token not in idf:
                continue
            if token not in worth:
                worth[token] = _text_weight(token, idf, lexicon)
            flat.append((names.setdefault(token, len(names)), row, worth[token]))
            if at + 1 < len(tokens) and ((token[:2], len(token) + len(tokens[at + 1])) in joins or token + tokens[at + 1] in numbers):
                flat.append((names.setdefault(token + tokens[at + 1], len(names)), row, 0.0))
    columns = np.array(flat, dtype=np.float64).reshape(-1, 3)
    return _Words(tuple(names), columns[:, 0].astype(np.int64), columns[:, 1].astype(np.int64), columns[:, 2])


def _text_weight(token: str, idf: dict[str, float], lexicon: Lexicon) -> float:
    if token in idf:
        return idf[token]
    if token in lexicon.terms.stations or token in language.PROGRESS_STEMS or token.isdigit():
        return 0.0
    return UNKNOWN_WORD


def _alike(names: tuple[str, ...], lexicon: Lexicon) -> np.ndarray:
    """Likeness of spoken words to the vocabulary; part of a term's spoken form is part of a hit, as its rest may be garbled."""
    parts = [
        (column, word, 1.0 if len(form) == 1 else PART_OF_FORM)
        for column, term in enumerate(lexicon.vocabulary) for form in lexicon.terms.forms.get(term, ()) for word in form
    ]
    extra = sorted({word for _, word, _ in parts} - set(lexicon.vocabulary))
    planned = (*lexicon.vocabulary, *extra)
    whole = likeness(names, planned, lexicon.written)
    at = {word: j for j, word in enumerate(planned)}
    alike = whole[:, : len(lexicon.vocabulary)].copy()
    for column, word, worth in parts:
        np.maximum(alike[:, column], whole[:, at[word]] * np.float32(worth), out=alike[:, column])
    alike[alike < LEAST_HIT] = 0.0
    return alike


def _hits(spoken: _Words, alike: np.ndarray, texts: int) -> Any:
    """Sparse texts x vocabulary: the best likeness of any of the text's words to each plan word."""
    from scipy.sparse import csr_matrix

    word, planned = np.nonzero(alike)
    value = alike[word, planned]
    start = np.searchsorted(word, np.arange(len(spoken.names) + 1))
    count = (start[1:] - start[:-1])[spoken.word]
    source = np.repeat(start[spoken.word], count) + ramp(count)
    width = max(alike.shape[1], 1)
    key = np.repeat(spoken.text, count) * width + planned[source]
    order = np.lexsort((-value[source], key))
    key, best = np.unique(key[order], return_index=True)
    data = value[source][order][best].astype(np.float32)
    return csr_matrix((data, (key // width, key % width)), shape=(texts, alike.shape[1]))


def ramp(count: np.ndarray) -> np.ndarray:
    """0..n-1 for each n in `count`, one after the other."""
    ends = np.cumsum(count)
    return np.arange(ends[-1] if len(ends) else 0) - np.repeat(ends - count, count)


def _best_in_wording(alike: np.ndarray, lexicon: Lexicon) -> np.ndarray:
    """Spoken words x wordings: the best likeness of a spoken word to any word of the wording."""
    out = np.zeros((len(lexicon.wordings), len(alike)), dtype=np.float32)
    used = np.flatnonzero(alike.any(axis=1))
    by_word = np.ascontiguousarray(alike[used].T)  # whole rows of it are many times quicker to take than columns
    for i, row in enumerate(lexicon.present):
        out[i, used] = by_word[np.flatnonzero(row)].max(axis=0, initial=0.0)
    return out.T


def _surprise(hits: Any, repeats: np.ndarray) -> np.ndarray:
    """Nats: how rarely each plan word is heard in this log; a word never heard is as rare as one heard once."""
    heard = np.asarray(hits.T @ repeats).ravel()
    return np.log((repeats.sum() + 1.0) / np.maximum(heard, 1.0)).astype(np.float32)


@dataclass(frozen=True)
class _Chosen:
    """Which wording of each plan row a text is held against: `usual` of most (-1: the row has none), and where a text has another."""

    usual: np.ndarray
    text: np.ndarray
    row: np.ndarray
    wording: np.ndarray

    def of(self, matrix: np.ndarray) -> np.ndarray:
        """By plan row, the chosen wording's figure of texts x wordings, with a last row of zeros for all other texts."""
        out = np.zeros((len(matrix) + 1, len(self.usual)), dtype=np.float32)
        if not len(matrix):
            return out
        np.take(matrix, np.maximum(self.usual, 0), axis=1, out=out[:-1], mode="clip")
        out[:, self.usual < 0] = 0.0
        out[self.text, self.row] = matrix[self.text, self.wording]
        return out


def _best_wording(score: np.ndarray, lexicon: Lexicon) -> _Chosen:
    """The wordings that fit best, the first of each plan row where several do."""
    first = np.flatnonzero(np.diff(lexicon.step_of, prepend=-1))
    usual = np.full(lexicon.rows, -1, dtype=np.int64)
    usual[lexicon.step_of[first]] = first
    others = np.setdiff1d(np.arange(len(lexicon.step_of)), first)
    several, at = np.unique(lexicon.step_of[others], return_inverse=True)  # plan rows with more than one wording
    chosen = np.tile(usual[several].astype(np.int32), (len(score), 1))
    best = score[:, usual[several]]
    for column, k in zip(others.tolist(), at.tolist(), strict=True):
        better = score[:, column] > best[:, k]
        chosen[better, k] = column
        best[better, k] = score[better, column]
    text, k = np.nonzero(chosen != usual[several])
    return _Chosen(usual, text, several[k], chosen[text, k])
