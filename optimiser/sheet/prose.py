"""Sentences that every sheet has."""

from __future__ import annotations

SCORING = (
    "A goal scores 100 % inside its band and falls in a straight line to nothing over the fade beside it. "
    "The design's score is the mean of its goals by weight."
)
BARS = (
    "Each goal's band (tinted) with its fade, and where the design comes to lie: a filled pointer scores in full. "
    "Numbers before a value are rows. The bar at the right is the goal's weight."
)
LIMITS = (
    "Limits must hold and earn nothing. Slack is how far a value lies inside its limit: next to none where it binds, little "
    "where it is near."
)
DESIGNS = (
    "The file describes designs of its own. What such a design leaves open was chosen to suit it best; it was then "
    "scored as the best design was."
)
OVERLAY = (
    "In each plan: in full lines the best design, its rows' numbers above them; dashed one of the file's own, its rows' "
    "numbers below."
)
FAN = "The angle that the image's width fills, seen from the middle of each row."
SIGHT = "Lines of sight to the image's lower edge, over the eyes in front. Heights are drawn twice as large."
MODES = (
    "The first three length modes between rigid walls, and where the rows sit on them. At a null a mode is not heard."
)
SPEAKERS = "The front loudspeakers stand {place} the image. ITU-R BS.775-3 shows the left and right ones 30° aside."
STRAY = (
    "Where each may lie, every limit still holds if nothing else moves, and of loudspeakers no goal loses. What the file fixes "
    "is moved as if it did not."
)
BETTER = "'Better': there a goal would gain."
UNASKED = (
    "How far the left and right loudspeakers may be moved is not told, as the file does not say how far apart they stand and "
    "asks nothing of their angle."
)
POINTS = "Bass loudspeakers are told as the points, mostly on a face of the room, that they are reckoned as."
NO_CENTRE = (
    "How the centre is heard where nothing can stand behind the image is for the sound system's designer to settle."
)
PORT = (
    "Where the light comes through the face of the rear wall it is {wide} wide and {high} high, its middle {x} from the "
    "left wall, from {low} to {top} above the floor. A port there must be larger, by what its frame, its glass and the "
    "light beside the image need. What the wall carries, and fire between the rooms, are for a qualified person and the "
    "local code."
)
SETTING_OUT = (
    "Distances along the room are from the finished face of the front wall, distances across it from the finished face "
    "of the left wall (facing the image), heights from the room's finished floor. {drawn}Check every dimension on site "
    "before building."
)
WALL_DRAWN = "The baffle wall is drawn from floor to ceiling. "
PLATFORMS_DRAWN = "Platforms are drawn from wall to wall, and steps in the way beside the chairs. "
IN_PLATFORMS = "What stands in a platform, to be built round or over: {names}. "
METHOD = (
    "All decisions were settled together. Each limit and goal was written as inequalities over the decisions, exactly "
    "or rounded so that no design is lost, and given to a constraint solver"
)
METHOD_BEST = (
    ", which searched for the best design and then proved that none scores more than the bound. The design was then "
    "scored again by the formulas themselves."
)
METHOD_ANY = (
    ", which searched for a design that keeps every limit. The design was then checked by the formulas themselves."
)
METHOD_NONE = ", which proved that no design on the grid keeps every limit."
METHOD_NEAR = (
    "The nearest design was found by letting demands give way until a design exists; what it breaks was then measured "
    "by the formulas themselves."
)
METHOD_UNKNOWN = ", which neither found a design that keeps every limit nor proved that there is none."
SAME = "The same file gives the same answer on any machine. Formulas and sources: optimiser measures NAME."
TAPES = "Distances run from the dot: the front wall, or the floor."
CUT = "The section is cut through the image's middle, {centre} from the left wall."
ON_PLAN = {
    "surround": "Thick on walls: where the middles of surround loudspeakers may be.",
    "surround overhead": "Thick and dashed: where those of overhead ones may be.",
    "recline": "Short dashes about chairs: as they recline.",
    "beam": "Dotted from the lens: its light.",
    "overhead": "Dash-dotted: what hangs overhead or lies beside the section.",
    "swing": "Tinted at doors: floor that they sweep or that is kept clear.",
    "bass": "Grey squares: bass loudspeakers, reckoned {size} wide and deep, and in a baffle wall no deeper than that; the file "
    "says nothing of their size.",
}
"""What stands below plan and section on kinds of line, where they have any."""
ON_FRONT = {
    "ceiling behind": "Long dashes: the ceiling farther back, where it is higher.",
    "axis line": "Dash-dotted: axes of the loudspeakers {place} the image.",
    "swing": "Dashed: a door in the front wall; its height is not in the file.",
    "overhead": "Dash-dotted: what nothing may enter behind the baffle wall's face.",
    "bass": "Grey squares: bass loudspeakers, reckoned {size} wide; the file says nothing of their size.",
    "bass hidden": "Dash-dotted squares: bass loudspeakers in the baffle wall, reckoned {size} wide; the file says nothing of their "
    "size.",
}
"""The same of the front elevation."""
AGAIN = "With this file anyone can run the problem again."
ATTACHED = (
    "It is attached to this PDF as {}: save it from there. Below, numbers count its lines; what has none goes on from the "
    "line above."
)
PRICES = (
    "Each of the file's limits, and each end of a range or a choice, that the best design comes up against was let out by one "
    "step (25 mm or 1 in, one degree, half a decibel and the like), and the best design found again. What that gains is what "
    "it costs to insist. What the room itself asks, and what the file fixes, was left as it is."
)
NO_GAIN = "The design comes up against these{too}, but a step of them gains nothing that can be proven:"
NOT_SETTLED = (
    "What a step of these would bring was not settled in the time that a sheet may take (optimiser prices FILE --thorough "
    "settles it):"
)
CONFLICTS = "Each of these sets of demands cannot hold together, and holds once any one of its demands is left out."
SHORTFALLS = (
    "The figures of a set heed its own demands and nothing else that the file asks: less will not do, and so much may "
    "not be enough."
)
ENOUGH = "What is enough stands under '{}'."
POSSIBLE = "What would make it possible"
MORE_CONFLICTS = "There are more such sets; the smallest are shown."
MAYBE_MORE = "The solver could not settle every question in its time: there may be other such sets."
MORE_PERHAPS = "The solver could not settle every question in its time: there may be other conflicts."
NONE_PROVEN = "The solver could not settle every question in its time, and no conflict is proven."
HOPELESS = "Nothing that may give way is enough: what is left is firm, or the room's own."
CONCESSIONS = "Any of these makes a design possible:"
NO_CONCESSION = "No demand that may give way is enough by itself."
NONE_KNOWN = "No demand is known to be enough by giving way alone."
UNDECIDED = "The solver could not settle every question in its time; there may be more ways."
NEAREST = (
    "The nearest design: what could be built if the demands gave way by the least in all. It is no answer, for it "
    "does not keep what the file asks."
)
MARK_LIMITS = "Nearest design, no answer: it breaks {} of the file"
MARK_BOTH = "Nearest design, no answer: it breaks {} of the file, and has decisions that the file does not allow"
MARK_RANGES = "Nearest design, no answer: it goes beyond what the file allows"
NO_DESIGN = (
    "No design exists that holds all the limits, and none is drawn: the drawing shows the room alone, as the file "
    "describes it, without an image, a baffle wall, or seats."
)
NO_ANSWER = (
    "No design was found that holds all the limits, and none is drawn: the drawing shows the room alone, as the file "
    "describes it, without an image, a baffle wall, or seats."
)
ROOM = "Doors of the side walls are lines on the floor of the section: the file does not say how high they are."
UNKNOWN = "Ask again with narrower ranges or fewer choices."
FREEDOM = (
    "How far each decision may move by itself while the others follow it as well as they can, every limit holds, and "
    "the score stays near the best. Each end is reached by a design that was scored, and proven to be the last."
)
