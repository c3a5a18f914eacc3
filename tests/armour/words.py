"""Words that bear on the count, for fuzzers and strategies to speak with."""

from __future__ import annotations

_PLAIN = """t minus plus T- T+ L- L minus zero one two three four five six seven eight nine ten eleven twelve fifteen twenty thirty forty fifty sixty
ninety hundred thousand niner oh and a half quarter point hours hour minutes minute mins seconds second secs sec count counting clock hold holding
holds resume resuming resumed recycle recycling recycled abort cutoff cut off scrub scrubbed stop liftoff lift release ignition mark now at in for until
from to the of is was will be expect coming up on about we are have not no go poll stand by ready copy roger complete all stations step called calling
due because waiting window new time zulu utc local pick it back set planned built-in built extend another by into past since if when before after
test conductor TC PROP RANGE propulsion this verify report that last ten, nine, eight, 3 2 1 0 10 31 60 5:00 T-31 T-05:00 T-1:30:00 14:25 1425Z
14:25:03 1.5 10s 5m 2h +3 -4 . , ; : ! ? -- ... | ( ) " ' / # % & = > < @ * _ ~ ^ [ ]"""
WORDS = tuple(_PLAIN.split())
assert len(WORDS) < 240, "a byte must be able to say what is no word of these"
