"""Published set-ups, copied as facts with their places: what the solver is measured against.

`(from memory)` after a place: the value was recalled, not read; each such row is also proved
by arithmetic. What a source prints wrongly is not here but in test_misprints.py, with the reason.
"""

from __future__ import annotations

from typing import NamedTuple

LIST24 = "Multiple-choice bank on indexing (list of divisions); rule 24/n in lecture sheet"
FOX = "Fox Valley Technical College, Advanced Milling course notes, Angular Indexing"
NOTES = "Workshop notes, Direct or Rapid Indexing"
TREATISE = "Practical Treatise on Milling and Milling Machines (1914)"
OD1644 = "US Army Ordnance subcourse OD1644, Milling Machine Operations, lesson 1 task 1"
SHEET = "Dividing head practice sheet (class exercise sheet, anon.)"
LECTURE = "Methods of Indexing (engineering-college lecture slides)"
COURSE = "College course page, Simple Indexing"
HANDBOOK_TABLE = (
    "Machinery's Handbook (27th ed. and earlier), simple and differential indexing table"
)
HANDBOOK_1916 = "Machinery's Handbook, 1916 edition (Oberg & Jones), angular indexing (excerpt)"
NAVY = "US Navy training manual NAVEDTRA 14345, Machinery Repairman, ch. 7"
HANDBOOK_APPROX = "Machinery's Handbook compound (approximate) indexing table, as quoted"
HANDBOOK_ANGULAR = "Machinery's Handbook, 27th ed. (2004), accurate angular indexing table"
CLASSIC = "Classic compound indexing settings for the three-plate set (period handbooks)"
EJERCICIOS = "Ejercicios plato divisor (Spanish vocational-school solved exercises)"
CABEZAL = "Cabezal divisor (Spanish technical-school notes, class sheet)"
TEXT = "Differential and Angular Indexing (engineering-college text, scanned)"

THREE_PLATES = ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49))
TWO_SIDES = (
    (24, 25, 28, 30, 34, 37, 38, 39, 41, 42, 43),
    (46, 47, 49, 51, 53, 54, 57, 58, 59, 62, 66),
)
TWELVE_GEARS = (24, 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100)


class Direct(NamedTuple):
    divisions: int
    holes: int  # of 24
    source: str


class Plain(NamedTuple):
    """`circles` None: the three plates. `holes` by circle; empty: whole turns."""

    divisions: int
    ratio: int
    circles: tuple[int, ...] | None
    turns: int
    holes: dict[int, int]
    source: str


class Angle(NamedTuple):
    """The same for an angle, as the source writes it."""

    angle: str
    ratio: int
    circles: tuple[int, ...] | None
    turns: int
    holes: dict[int, int]
    source: str


class Compound(NamedTuple):
    """`crank` and `plate` are (holes, circle); plate holes may be minus."""

    wanted: str  # crank turns of one move, exactly as the source gives them
    turns: int
    crank: tuple[int, int]
    plate: tuple[int, int]
    source: str


class Differential(NamedTuple):
    """40 to 1, the twelve gears, the three plates; drivers on the spindle side."""

    divisions: int
    holes: int
    circle: int
    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    plate: str
    idlers: int | None  # None: the source does not say
    source: str


DIRECT = [
    Direct(2, 12, f"{LIST24}, direct / rapid indexing"),
    Direct(3, 8, f"{LIST24}, direct / rapid indexing"),
    Direct(4, 6, f"{LIST24}, direct / rapid indexing"),
    Direct(8, 3, f"{LIST24}, direct / rapid indexing"),
    Direct(12, 2, f"{LIST24}, direct / rapid indexing"),
    Direct(24, 1, f"{LIST24}, direct / rapid indexing"),
]

PLAIN = [
    Plain(42, 40, TWO_SIDES[0], 0, {42: 40}, f"{OD1644}, p. 24 (od164480030), ex. (b)"),
    Plain(15, 40, (27, 30, 32, 35, 36), 2, {27: 18, 36: 24}, f"{SHEET}, row 1 and worked text"),
    Plain(35, 40, None, 1, {21: 3}, f"{LECTURE}, hole-circle slide"),
    Plain(8, 40, None, 5, {}, f"{COURSE}, examples"),
    Plain(26, 40, (44, 45, 47, 49, 52), 1, {52: 28}, f"{SHEET}, row 26"),
    Plain(112, 40, (12, 14, 16, 18, 20), 0, {14: 5}, f"{SHEET}, row 112"),
    Plain(60, 40, (15, 18, 20, 23, 24), 0, {15: 10, 18: 12, 24: 16}, f"{SHEET}, row 60"),
    Plain(92, 60, (21, 22, 23, 24, 25), 0, {23: 15}, f"{SHEET}, row 92"),
    Plain(14, 60, (21, 23, 25, 26, 28), 4, {21: 6, 28: 8}, f"{SHEET}, row 14"),
    Plain(37, 60, (33, 35, 37, 39, 42), 1, {37: 23}, f"{SHEET}, row 37"),
    Plain(18, 60, (33, 35, 36, 38, 40), 3, {33: 11, 36: 12}, f"{SHEET}, row 18"),
    Plain(78, 72, (21, 23, 25, 26, 27), 0, {26: 24}, f"{SHEET}, row 78"),
    Plain(69, 72, (21, 23, 25, 27, 29), 1, {23: 1}, f"{SHEET}, row 69"),
    Plain(
        12,
        90,
        (22, 24, 26, 28, 30),
        7,
        {22: 11, 24: 12, 26: 13, 28: 14, 30: 15},
        f"{SHEET}, row 12",
    ),
    Plain(50, 90, (30, 33, 36, 38, 40), 1, {30: 24, 40: 32}, f"{SHEET}, row 50"),
    Plain(40, 90, (16, 18, 19, 21, 24), 2, {16: 4, 24: 6}, f"{SHEET}, row 40"),
    Plain(44, 90, (22, 24, 26, 28, 30), 2, {22: 1}, f"{SHEET}, row 44"),
    Plain(3, 40, None, 13, {39: 13}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(9, 40, None, 4, {18: 8, 27: 12}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(11, 40, None, 3, {33: 21}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(13, 40, None, 3, {39: 3}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(19, 40, None, 2, {19: 2}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(23, 40, None, 1, {23: 17}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(37, 40, None, 1, {37: 3}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(49, 40, None, 0, {49: 40}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(100, 40, None, 0, {20: 8}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(360, 40, None, 0, {18: 2}, f"{HANDBOOK_TABLE}, table (from memory)"),
    Plain(7, 40, None, 5, {21: 15, 49: 35}, f"{COURSE}, examples"),
]

ANGLES = [
    Angle("35 deg", 40, None, 3, {18: 16}, f"{HANDBOOK_1916}, excerpt"),
    Angle("11 1/2 deg", 40, None, 1, {18: 5}, f"{HANDBOOK_1916}, excerpt"),
    Angle("1 deg", 40, None, 0, {18: 2, 27: 3}, f"{HANDBOOK_1916}, excerpt"),
    Angle(
        "48 deg 40 min",
        40,
        None,
        5,
        {27: 11},
        f"{HANDBOOK_1916}, excerpt (answer falls after the excerpt ends)",
    ),
    Angle("2/3 deg", 40, None, 0, {27: 2}, f"{TREATISE}, p. 54 (djvu 60)"),
    Angle("45 deg", 40, None, 5, {}, f"{FOX}, example 1"),
    Angle("19 deg", 40, None, 2, {54: 6}, f"{FOX}, example 2"),
    Angle("54 min", 40, None, 0, {20: 2}, f"{OD1644}, p. 27 (od164480033), (d)"),
    Angle("15 deg", 40, None, 1, {27: 18, 36: 24}, f"{SHEET}, worked text"),
    Angle(
        "92 deg", 60, (21, 22, 23, 24, 25), 15, {21: 7, 24: 8}, f"{SHEET}, row 92, used as an angle"
    ),
    Angle("78 deg", 72, (21, 23, 25, 26, 27), 15, {25: 15}, f"{SHEET}, row 78, used as an angle"),
    Angle("25 deg", 72, (33, 35, 36, 37, 39), 5, {}, f"{SHEET}, row 25, used as an angle"),
    Angle(
        "50 deg",
        90,
        (30, 33, 36, 38, 40),
        12,
        {30: 15, 36: 18, 38: 19, 40: 20},
        f"{SHEET}, row 50, used as an angle",
    ),
]

# Exact: 40 turns over the divisions. Decimals: the nearest setting that the source found.
COMPOUND_EXACT = [
    Compound("40/91", 0, (6, 39), (14, 49), f"{LECTURE}, compound slide"),
    Compound("40/51", 0, (10, 15), (2, 17), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/57", 0, (5, 15), (7, 19), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/63", 0, (11, 21), (3, 27), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/69", 0, (21, 23), (-11, 33), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/77", 0, (9, 21), (3, 33), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/87", 0, (23, 29), (-11, 33), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/93", 0, (3, 31), (11, 33), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/96", 0, (3, 18), (5, 20), f"{CLASSIC}, compound table (from memory)"),
    Compound("40/99", 0, (15, 27), (-5, 33), f"{CLASSIC}, compound table (from memory)"),
]

COMPOUND_NEAREST = [
    Compound("0.1910", 0, (17, 39), (-12, 49), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.1930", 0, (10, 19), (-5, 15), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2010", 0, (11, 39), (-3, 37), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2230", 0, (15, 31), (-6, 23), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2250", 0, (2, 16), (2, 20), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2340", 0, (24, 41), (-13, 37), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2360", 0, (10, 39), (-1, 49), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.1960", 0, (34, 66), (-15, 47), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2300", 0, (12, 25), (-6, 24), f"{HANDBOOK_ANGULAR}, p. 1995"),
    Compound("0.2380", 0, (34, 57), (-19, 53), f"{HANDBOOK_ANGULAR}, p. 1995"),
]

DIFFERENTIAL = [
    Differential(83, 8, 18, (56, 32), (24, 24), "with", None, f"{EJERCICIOS}, ejercicio 2 (N1=90)"),
    Differential(71, 12, 21, (32,), (56,), "against", None, f"{EJERCICIOS}, ejercicio 3 (N1=70)"),
    Differential(
        53,
        10,
        15,
        (64, 56),
        (32, 24),
        "with",
        None,
        f"{CABEZAL}, ejemplo, cadena de 53 dientes (T1=60)",
    ),
    Differential(51, 14, 17, (48,), (24,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(
        53, 35, 49, (72, 40), (24, 56), "with", 0, f"{HANDBOOK_TABLE}, table (from memory)"
    ),
    Differential(57, 15, 21, (40,), (56,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(59, 26, 39, (32,), (48,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(61, 26, 39, (32,), (48,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(69, 12, 20, (56,), (40,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(71, 10, 18, (40,), (72,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(73, 12, 21, (48,), (28,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(77, 10, 20, (48,), (32,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(87, 7, 15, (24,), (40,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(89, 8, 18, (32,), (72,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(91, 18, 39, (48,), (24,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(96, 9, 21, (32,), (28,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(97, 8, 20, (48,), (40,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(
        99, 8, 20, (32, 28), (56, 40), "with", 0, f"{HANDBOOK_TABLE}, table (from memory)"
    ),
    Differential(
        101, 8, 20, (48, 24), (72, 40), "against", 1, f"{HANDBOOK_TABLE}, table (from memory)"
    ),
    Differential(
        107, 8, 20, (64, 56), (40, 32), "against", 1, f"{HANDBOOK_TABLE}, table (from memory)"
    ),
    Differential(109, 6, 16, (28,), (32,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(111, 13, 39, (72,), (24,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(113, 13, 39, (56,), (24,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(119, 13, 39, (24,), (72,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(127, 13, 39, (56,), (24,), "against", 2, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(131, 6, 20, (28,), (40,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(137, 6, 21, (24,), (28,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
    Differential(
        139, 6, 21, (24, 32), (56, 48), "with", 0, f"{HANDBOOK_TABLE}, table (from memory)"
    ),
    Differential(151, 5, 20, (72,), (32,), "with", 1, f"{HANDBOOK_TABLE}, table (from memory)"),
]
