"""Words that a recogniser may write for others that sound alike: it writes words it knows, seldom letters that are no word.

Conventions: lower case. Two words are near when their consonant skeletons (voiced and unvoiced alike, vowels dropped) are equal or
one sound apart. Numbers are not in the lexicon: `noise` treats them on their own. It does not decide how often a word is misheard.
"""

from __future__ import annotations

from collections.abc import Iterable

COMMON = tuple(["about", "above", "across", "after", "again", "all", "almost", "alone", "along", "also", "always", "among", "and", "another", "any", "anything", "are", "around", "ask", "at", "away", "back", "bad", "bag", "bar", "base", "be", "bear", "beat", "because", "become", "bed", "been", "before", "began", "behind", "being", "believe", "below", "best", "better", "between", "big", "bit", "black", "blue", "boat", "body", "both", "bought", "bread", "break", "bring", "brought", "building", "built", "bus", "but", "buy", "by", "call", "came", "can", "car", "care", "carry", "case", "cat", "caught", "cause", "center", "certain", "chair", "chance", "change", "cheap", "check", "child", "choose", "city", "class", "clean", "clear", "close", "cold", "come", "common", "could", "country", "course", "cover", "cross", "cut", "dark", "day", "deal", "deep", "did", "different", "do", "dog", "done", "door", "down", "draw", "drive", "drop", "dry", "during", "each", "early", "earth", "east", "eat", "edge", "else", "end", "enough", "even", "evening", "ever", "every", "eye", "face", "fact", "fair", "fall", "family", "far", "farm", "fast", "father", "fear", "feel", "feet", "fell", "felt", "few", "field", "fight", "fill", "final", "find", "fine", "fire", "first", "fish", "fit", "floor", "fly", "follow", "food", "foot", "for", "force", "forest", "form", "found", "free", "friend", "from", "front", "full", "game", "garden", "gas", "gate", "gave", "get", "girl", "give", "glad", "glass", "go", "gold", "gone", "good", "got", "great", "green", "ground", "group", "grow", "guess", "had", "hair", "half", "hall", "hand", "happen", "hard", "has", "hat", "have", "he", "head", "hear", "heart", "heat", "heavy", "held", "help", "her", "here", "high", "hill", "him", "his", "hit", "home", "hope", "horse", "hot", "hour", "house", "how", "idea", "if", "in", "inch", "into", "iron", "island", "it", "job", "join", "just", "keep", "kept", "key", "kind", "king", "knew", "know", "labor", "lack", "lady", "land", "large", "last", "late", "laugh", "law", "lay", "lead", "learn", "leave", "led", "left", "leg", "less", "let", "letter", "lie", "life", "lift", "light", "like", "line", "list", "little", "live", "load", "long", "look", "lose", "lost", "lot", "loud", "love", "low", "made", "main", "make", "man", "many", "map", "march", "mark", "market", "may", "me", "mean", "meet", "men", "might", "mile", "milk", "mind", "miss", "money", "moon", "more", "morning", "most", "mother", "motor", "mouth", "move", "much", "music", "must", "my", "name", "near", "need", "never", "new", "next", "nice", "night", "no", "noise", "north", "not", "note", "nothing", "now", "of", "off", "office", "often", "oil", "old", "on", "once", "only", "open", "or", "order", "other", "our", "out", "over", "own", "page", "paid", "paper", "park", "part", "party", "pass", "past", "path", "pay", "people", "perhaps", "person", "phone", "piece", "place", "plain", "plan", "plane", "plant", "play", "please", "plus", "point", "poor", "port", "post", "power", "press", "price", "print", "pull", "push", "put", "quick", "quiet", "quite", "race", "radio", "rain", "ran", "read", "ready", "real", "reason", "red", "rest", "rich", "ride", "right", "ring", "rise", "river", "road", "rock", "room", "rope", "round", "rule", "run", "said", "sail", "salt", "same", "sand", "saw", "say", "school", "sea", "seat", "second", "see", "seem", "seen", "sell", "send", "sense", "sent", "serve", "set", "several", "shall", "shape", "sharp", "she", "ship", "shop", "short", "should", "shout", "show", "side", "sign", "silver", "simple", "since", "sing", "sister", "sit", "size", "sky", "sleep", "slow", "small", "smooth", "snow", "so", "soft", "some", "soon", "sort", "sound", "south", "space", "speak", "speed", "spell", "spend", "spoke", "spring", "stand", "star", "start", "state", "stay", "step", "still", "stone", "stood", "stop", "store", "story", "street", "strong", "such", "sudden", "summer", "sun", "sure", "table", "take", "talk", "tall", "taste", "teach", "team", "tell", "test", "than", "thank", "that", "the", "their", "them", "then", "there", "these", "they", "thick", "thin", "thing", "think", "this", "those", "though", "thought", "through", "tie", "till", "time", "to", "today", "together", "told", "too", "took", "top", "total", "touch", "toward", "town", "track", "trade", "train", "tree", "trip", "truck", "true", "trust", "try", "turn", "type", "under", "unit", "until", "up", "upon", "us", "use", "valley", "value", "very", "view", "visit", "voice", "wait", "walk", "wall", "want", "war", "warm", "was", "wash", "watch", "water", "wave", "way", "we", "wear", "weather", "week", "weight", "well", "went", "were", "west", "what", "wheel", "when", "where", "which", "while", "white", "who", "whole", "why", "wide", "will", "win", "wind", "window", "wish", "with", "within", "without", "woman", "wonder", "wood", "word", "work", "world", "would", "write", "wrong", "yard", "year", "yellow", "yes", "yet", "you", "young", "your"])

_SOUNDS = str.maketrans({"p": "b", "t": "d", "v": "f", "z": "s", "c": "k", "g": "k", "q": "k", "x": "k", "n": "m", "r": "l", "j": "s"})
_SILENT = str.maketrans("", "", "aeiouwhy'-")
MOST_NEAR = 6   # a word is taken for one of at most this many


def skeleton(word: str) -> str:
    """'verified' -> 'flfd'; doubled sounds count once."""
    sounds = word.lower().replace("ph", "f").replace("ck", "k").translate(_SILENT).translate(_SOUNDS)
    return "".join(c for i, c in enumerate(sounds) if i == 0 or c != sounds[i - 1])


def _views(word: str) -> set[str]:
    whole = skeleton(word)
    return {whole} | {whole[:i] + whole[i + 1:] for i in range(len(whole)) if len(whole) > 2}


class Lexicon:
    def __init__(self, words: Iterable[str]) -> None:
        self._by_view: dict[str, set[str]] = {}
        self._cache: dict[str, tuple[str, ...]] = {}
        for word in {*COMMON, *(w.lower() for w in words if w.isalpha() and len(w) > 2)}:
            for view in _views(word):
                self._by_view.setdefault(view, set()).add(word)

    def near(self, word: str) -> tuple[str, ...]:
        """Other words that sound like this one, nearest first; none for most long words that are unlike all others."""
        if word not in self._cache:
            found = {w for view in _views(word) for w in self._by_view.get(view, ())} - {word}
            exact = skeleton(word)
            ranked = sorted(found, key=lambda w: (skeleton(w) != exact, w[0] != word[:1], abs(len(w) - len(word)), w))
            self._cache[word] = tuple(ranked[:MOST_NEAR])
        return self._cache[word]
