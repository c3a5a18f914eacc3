"""How an order turns into what is said while it is carried out and once it is done.

`form(action, how)` rewrites an imperative ('open ~stage 2 vent~ ...'). An action is `verb object ~tail`: the verb comes
first, the tail (optional, after '~') says where to ('to internal power'). It does not decide who says it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Verb:
    doing: str
    done: tuple[str, ...]
    others: tuple[str, ...] = ()


def _v(doing: str, done: str, others: str = "") -> Verb:
    return Verb(doing, tuple(done.split("/")), tuple(o for o in others.split("/") if o))


VERBS: dict[str, Verb] = {
    "open": _v("opening", "open/is open/indicates open", "open up/go open on"),
    "close": _v("closing", "closed/is closed/shows closed", "shut/go closed on"),
    "start": _v("starting", "started/running/is under way", "begin/initiate"),
    "stop": _v("stopping", "stopped/terminated/is off", "terminate/secure"),
    "verify": _v("verifying", "verified/confirmed/is good", "confirm/check"),
    "arm": _v("arming", "armed/is armed"),
    "safe": _v("safing", "safed/is safe"),
    "disarm": _v("disarming", "disarmed/is disarmed"),
    "enable": _v("enabling", "enabled/is enabled"),
    "inhibit": _v("inhibiting", "inhibited/is inhibited", "lock out"),
    "transfer": _v("transferring", "transferred", "switch/take"),
    "switch": _v("switching", "switched", "transfer/move"),
    "retract": _v("retracting", "retracted/is back", "pull back/swing back"),
    "extend": _v("extending", "extended/is out", "run out"),
    "pressurize": _v("pressurizing", "pressurized/at pressure/up to pressure", "press up/bring up pressure on"),
    "vent": _v("venting", "vented/vented down", "vent down/bleed off"),
    "fill": _v("filling", "filled/full", "top up"),
    "drain": _v("draining", "drained/empty", "dump"),
    "load": _v("loading", "loaded/load complete"),
    "purge": _v("purging", "purged/purge complete", "flush/run purge on"),
    "chill": _v("chilling", "chilled/chilled in", "cool down/chill in"),
    "configure": _v("configuring", "configured/configuration complete", "set up"),
    "set": _v("setting", "set/is set", "put"),
    "clear": _v("clearing", "clear/is clear", "evacuate"),
    "select": _v("selecting", "selected", "choose/go to"),
    "energize": _v("energizing", "energized/is live/up", "power up/bring up"),
    "release": _v("releasing", "released/is free", "let go"),
    "lower": _v("lowering", "lowered/is down", "bring down"),
    "raise": _v("raising", "raised/is up", "bring up"),
    "lock": _v("locking", "locked/is locked", "latch"),
    "unlock": _v("unlocking", "unlocked", "unlatch"),
    "inflate": _v("inflating", "inflated/inflation complete", "put gas in"),
    "deploy": _v("deploying", "deployed/is out", "put out"),
    "align": _v("aligning", "aligned/alignment complete", "run alignment on"),
    "calibrate": _v("calibrating", "calibrated/cal complete", "run cal on"),
    "record": _v("recording", "recorded/written down", "log/take down"),
    "isolate": _v("isolating", "isolated/is isolated", "valve off"),
    "install": _v("installing", "installed/in place", "fit/put in"),
    "remove": _v("removing", "removed/is out", "take out/pull"),
    "connect": _v("connecting", "connected/mated", "mate/hook up"),
    "disconnect": _v("disconnecting", "disconnected/demated", "demate/unhook"),
    "sample": _v("sampling", "sampled/sample taken", "take sample of"),
    "test": _v("testing", "tested/test complete/test good", "run test on"),
    "trim": _v("trimming", "trimmed/in trim", "adjust"),
    "steer": _v("steering", "steady", "come to"),
    "rotate": _v("rotating", "rotated/in position", "turn/slew"),
    "spin": _v("spinning", "at speed/up to speed", "spin up/run up"),
    "heat": _v("heating", "at temperature/warm", "warm up/warm"),
    "activate": _v("activating", "activated/active", "turn on/bring on"),
    "deactivate": _v("deactivating", "deactivated/off", "turn off/take off"),
    "report": _v("reporting", "reported/is nominal/within limits", "give"),
    "synchronize": _v("synchronizing", "synchronized/in sync", "sync/line up"),
    "reset": _v("resetting", "reset", "clear down"),
    "brief": _v("briefing", "briefed/briefing complete", "give briefing to"),
    "announce": _v("announcing", "announced", "call out"),
    "secure": _v("securing", "secured/is secure", "make fast/button up"),
    "seal": _v("sealing", "sealed/is sealed", "close up"),
    "monitor": _v("monitoring", "monitored/steady", "watch/keep eyes on"),
    "ignite": _v("igniting", "ignited/ignition/lit", "light/fire"),
    "fire": _v("firing", "fired/fire", "shoot"),
}


@dataclass(frozen=True)
class Action:
    """An order in parts. `plain` is what the plan prints."""

    verb: str
    object: str
    tail: str

    @property
    def plain(self) -> str:
        return " ".join(p for p in (self.verb, self.object, self.tail) if p)

    @property
    def doing(self) -> str:
        return " ".join(p for p in (VERBS[self.verb].doing, self.object, self.tail) if p)

    def done(self, which: int = 0) -> str:
        forms = VERBS[self.verb].done
        return " ".join(p for p in (self.object, forms[which % len(forms)], self.tail) if p)

    def other(self, which: int, article: str = "") -> str:
        """The order with another verb that means the same, if the trade has one."""
        others = VERBS[self.verb].others
        verb = others[which % len(others)] if others else self.verb
        return " ".join(p for p in (verb, article + self.object, self.tail) if p)


def parse(action: str) -> Action:
    """'transfer guidance ~to internal power' in its parts."""
    head, _, tail = action.partition("~")
    verb, _, thing = head.strip().partition(" ")
    if verb not in VERBS:
        raise ValueError(f"no such verb: {verb!r} in {action!r}")
    return Action(verb, thing.strip(), tail.strip())
