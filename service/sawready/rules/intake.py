"""Reasons that the reading of an order finds: what is missing, unclear, unknown or doubled."""

from typing import Final

from sawready.rules.registry import NOTE, REJECT, declare

VALUE_MISSING: Final = declare(
    reason="value-missing",
    about="reading",
    severity=REJECT,
    title="A needed value is missing",
    why="Without it the window cannot be worked out, and a blank is never filled in by guessing.",
    message="The {field} is missing: {because}.",
    remedy="State the {field}.",
    source="contract of the order, section 1",
)

VALUE_UNREADABLE: Final = declare(
    reason="value-unreadable",
    about="reading",
    severity=REJECT,
    title="A value cannot be read",
    why="A value that has to be guessed at can be guessed wrong, and the frame is scrap.",
    message="The {field} cannot be read: {because}.",
    remedy="{remedy}",
    source="contract of the order, section 1",
)

VALUE_AMBIGUOUS: Final = declare(
    reason="value-ambiguous",
    about="reading",
    severity=REJECT,
    title="A value can honestly be read in two ways",
    why="Picking the likelier reading is still a guess; whoever wrote it knows which one was meant.",
    message="The {field} can be read in more than one way: {because}.",
    remedy="{remedy}",
    source="contract of the order, section 1",
)

UNIT_NOT_STATED: Final = declare(
    reason="unit-not-stated",
    about="reading",
    severity=REJECT,
    title="A bare number without a unit anywhere",
    why="48 is a window in inches and a letter box in millimetres; nothing that changes a size is guessed.",
    message="The {field} has no unit: {because}.",
    remedy="{remedy}",
    source="contract of the order, section 1",
)

UNIT_NOT_A_LENGTH: Final = declare(
    reason="unit-not-a-length",
    about="reading",
    severity=REJECT,
    title="A unit that is no unit of length",
    why="A mass or a price in a size column means that the columns have shifted.",
    message="The {field} is no length: {because}.",
    remedy="{remedy}",
    source="contract of the order, section 1",
)

VALUE_OUT_OF_RANGE: Final = declare(
    reason="value-out-of-range",
    about="reading",
    severity=REJECT,
    title="A value outside anything sensible",
    why="A size far outside the usual range is nearly always a slip of unit or of a digit.",
    message="The {field} is out of range: {because}.",
    remedy="{remedy}",
    source="limits of the rulebook",
)

QUANTITY_NOT_A_COUNT: Final = declare(
    reason="quantity-not-a-count",
    about="reading",
    severity=REJECT,
    title="A quantity that is no whole count",
    why="Every list is multiplied by it; one and a half windows cannot be cut.",
    message="The {field} is no count: {because}.",
    remedy="State how many alike as a whole number, 1 or more.",
    source="contract of the order, section 1",
)

FIELD_UNKNOWN: Final = declare(
    reason="field-unknown",
    about="reading",
    severity=REJECT,
    title="A field that nobody knows",
    why="A misspelt field would otherwise be left out in silence, and with it a sill or an extender.",
    message='There is no field "{name}" here{nearest}.',
    remedy="{remedy}",
    source="contract of the order, section 1",
)

ROW_UNREADABLE: Final = declare(
    reason="row-unreadable",
    about="reading",
    severity=REJECT,
    title="A row or order that cannot be read at all",
    why="Its values may have slipped into the wrong columns, so none of them is used.",
    message="{detail}",
    remedy="{remedy}",
    source="contract of the order, section 2; RFC 4180 and RFC 8259",
)

DUPLICATE_OPENING: Final = declare(
    reason="duplicate-opening",
    about="reading",
    severity=REJECT,
    title="The same opening twice in one order",
    why="Either it is made twice, or one of the two is somebody else's size; only the firm can tell.",
    message='Opening "{ref}" stands {count} times in this order.',
    remedy="Keep one, or give each opening a name of its own; use quantity for windows that are alike.",
    source="contract of the order, section 1",
)

VIEW_NOT_STATED: Final = declare(
    reason="view-not-stated",
    about="reading",
    severity=REJECT,
    title="Left and right without the side they are seen from",
    why="Left from outside is right from inside: a window made from the wrong view opens on the wrong side.",
    message="Nothing says whether this opening is seen from outside or inside, and {because} would change.",
    remedy='State viewed_from as "outside" or "inside" for the order.',
    source="contract of the order, section 1",
)

LAYOUT_UNREADABLE: Final = declare(
    reason="layout-unreadable",
    about="reading",
    severity=REJECT,
    title="A layout that cannot be read",
    why="The layout decides every cut but the outer frame's, and which side each light opens on.",
    message="The {field} cannot be read: {because}.",
    remedy="Write it as, for instance, side-hung left | fixed, or as the tree form.",
    source="contract of the order, section 1, Layout",
)

SYSTEM_UNKNOWN: Final = declare(
    reason="system-unknown",
    about="reading",
    severity=REJECT,
    title="A profile system that is not on file",
    why="Every deduction is the system's own; another system's figures would cut every piece wrong.",
    message='No profile system "{name}" is on file{nearest}; known: {known}.',
    remedy="Name a known system, or add its file with --system.",
    source="catalogue of profile systems",
)

RULEBOOK_UNKNOWN: Final = declare(
    reason="rulebook-unknown",
    about="reading",
    severity=REJECT,
    title="A rulebook that is not on file",
    why="Gaps, limits and building rules differ from place to place.",
    message='No rulebook "{name}" is on file{nearest}; known: {known}.',
    remedy="Name a known rulebook, or add its file with --rulebook-file.",
    source="catalogue of rulebooks",
)

UNIT_DIFFERS: Final = declare(
    reason="unit-differs",
    about="reading",
    severity=NOTE,
    title="A value with another unit than its order",
    why="It is read by its own unit; saying so lets the firm see it if the unit was the slip.",
    message="The {field}: {because}.",
    remedy="Check that the unit written with it is meant.",
    source="contract of the order, section 1",
)

NUMBER_UNUSUAL: Final = declare(
    reason="number-unusual",
    about="reading",
    severity=NOTE,
    title="A number written in an unusual way",
    why="It can be read, but what brought it into this form may have changed more than its look.",
    message="The {field}: {because}.",
    remedy="Check it against the survey sheet.",
    source="contract of the order, section 1",
)
