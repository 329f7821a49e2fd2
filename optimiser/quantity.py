"""Lengths, angles, times and the like: read from text exactly, and shown again.

Texts are read by a small grammar of their own, on fractions: general unit libraries read
``18' 6 1/2"`` as something else without saying so. A unit is always due where the kind has one.
Inside the program everything is SI and radians; the two exceptions, named for their unit, are
``level`` (decibels) and ``pixels_per_degree``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.errors import QuantityError

Number = Fraction | float

LONGEST = 64  # characters in one quantity: more is a mistake, or an attack
SYSTEMS = ("ft-in", "in", "m", "cm", "mm")

INCH = Fraction(254, 10000)  # m; the international inch
FOOT = 12 * INCH
DEGREE = math.pi / 180  # rad
FOOT_LAMBERT = 1 / (math.pi * float(FOOT) ** 2)  # cd/m2; 1/pi candela per square foot
ZERO_CELSIUS = Fraction(27315, 100)  # K


@dataclass(frozen=True)
class Kind:
    """What can be written for one kind of quantity: its units as multiples of the SI unit."""

    name: str  # with its article, as messages use it
    units: Mapping[str, Number]  # spelling (lower case) -> SI value of one unit
    write: tuple[str, ...]  # units to propose, best first
    example: str
    bare: bool = False  # may stand without a unit
    whole: bool = False


_LENGTHS: dict[str, Number] = {
    **dict.fromkeys(("ft", "feet", "foot", "'"), FOOT),
    **dict.fromkeys(("in", "inch", "inches", '"'), INCH),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1)),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
}
_IMPERIAL = frozenset((FOOT, INCH))

KINDS: dict[str, Kind] = {
    "length": Kind("a length", _LENGTHS, ("ft", "in", "m", "cm", "mm"), "18 ft 9 in"),
    "angle": Kind(
        "an angle",
        {**dict.fromkeys(("deg", "degree", "degrees", "°"), DEGREE), "rad": Fraction(1)},
        ("deg", "rad"),
        "50 deg",
    ),
    "ratio": Kind("a ratio", {"%": Fraction(1, 100)}, ("%",), "0.65", bare=True),
    "time": Kind("a time", {"s": Fraction(1), "ms": Fraction(1, 1000)}, ("s", "ms"), "0.32 s"),
    "frequency": Kind("a frequency", {"hz": Fraction(1), "khz": Fraction(1000)}, ("Hz", "kHz"), "80 Hz"),
    "level": Kind("a level", {"db": Fraction(1)}, ("dB",), "3 dB"),
    "area": Kind(
        "an area",
        {
            **dict.fromkeys(("m2", "m²", "m^2", "sq m"), Fraction(1)),
            **dict.fromkeys(("ft2", "ft²", "ft^2", "sq ft"), FOOT**2),
            **dict.fromkeys(("in2", "in²", "in^2", "sq in"), INCH**2),
            **dict.fromkeys(("cm2", "cm²", "cm^2"), Fraction(1, 10000)),
        },
        ("m2", "ft2"),
        "2.5 m2",
    ),
    "volume": Kind(
        "a volume",
        {
            **dict.fromkeys(("m3", "m³", "m^3"), Fraction(1)),
            **dict.fromkeys(("ft3", "ft³", "ft^3"), FOOT**3),
        },
        ("m3", "ft3"),
        "60 m3",
    ),
    "luminance": Kind(
        "a luminance",
        {**dict.fromkeys(("cd/m2", "cd/m²", "nit", "nits"), Fraction(1)), "fl": FOOT_LAMBERT},
        ("cd/m2", "fL"),
        "48 cd/m2",
    ),
    "flux": Kind("a luminous flux", {"lm": Fraction(1)}, ("lm",), "2000 lm", bare=True),
    "pixels_per_degree": Kind(
        "a pixel density",
        dict.fromkeys(("px/deg", "px/°", "ppd"), Fraction(1)),
        ("px/deg",),
        "40 px/deg",
    ),
    "temperature": Kind(
        "a temperature",
        {
            **dict.fromkeys(("degc", "°c", "c"), Fraction(1)),
            **dict.fromkeys(("degf", "°f", "f"), Fraction(5, 9)),
            "k": Fraction(1),
        },
        ("degC", "degF"),
        "20 degC",
    ),
    "aspect": Kind("an aspect ratio", {}, (), "16:9", bare=True),
    "count": Kind("a whole number", {}, (), "3", bare=True, whole=True),
    "number": Kind("a number", {}, (), "2.5", bare=True),
    "mass": Kind("a weight", {"kg": Fraction(1), "lb": Fraction(45359237, 100_000_000)}, ("kg", "lb"), "14 kg"),
    "money": Kind("an amount of money", {}, (), "2500", bare=True),
}

_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
}  # fmt: skip
_PLAIN = str.maketrans(
    {
        **{c: f" {v} " for c, v in _VULGAR.items()},
        **dict.fromkeys("’‘′ʹ＇", "'"),
        **dict.fromkeys("”“″ʺ＂", '"'),
        **dict.fromkeys("−–‑‐", "-"),
        **dict.fromkeys("\u00a0\u2009\u202f\t", " "),
        "⁄": "/",
        "º": "°",
    }
)

# One part of a quantity: a whole number with a fraction, a fraction, or a decimal; then its unit.
_NUMBER = r"""\s*(?:
        (?P<whole>[0-9]+) (?:\s+|\s*-\s*) (?P<top>[0-9]+) \s*/\s* (?P<bottom>[0-9]+)
      | (?P<top2>[0-9]+) \s*/\s* (?P<bottom2>[0-9]+)
      | (?P<decimal>[0-9]+(?:\.[0-9]+)?|\.[0-9]+)
    )\s*"""
_END = r"(?=[\s\-0-9.]|$)"
_PART = re.compile(_NUMBER + r"""(?P<unit>['"%]|[a-z°][a-z°/]*)?""" + _END, re.VERBOSE | re.IGNORECASE)
_POWER = re.compile(  # square metres and the like; apart, for 18ft2in is a length
    _NUMBER + r"(?P<unit>(?:sq\ )?[a-z][a-z/]*(?:\^?[23]|[²³])?)?" + _END, re.VERBOSE | re.IGNORECASE
)
_MARKED = re.compile(r"[0-9]+(?:\s*,\s*[0-9]+|\.[0-9]+)+")  # a number with points or commas in it
_EITHER = re.compile(r"[0-9]\s*[a-z'\"°%]*\.?\s*\bor\b\s*[0-9]", re.IGNORECASE)
_RANGE = re.compile(r"[0-9]\s*[a-z'\"°%]*\.?\s*(?:-|\bto\b|\.\.+)\s*[0-9]", re.IGNORECASE)
_SHORTENED = re.compile(r"(?<=[a-z])\.(?=[\s-]|$)", re.IGNORECASE)  # the dot of 'ft.'


def parse(kind: str, text: str, *, signed: bool = False) -> Number:
    """The SI value of ``text`` (radians for angles), exact where the unit is.

    ``signed`` lets the text begin with a sign. Raises QuantityError with what to write instead.
    """
    spec = KINDS[kind]
    if not isinstance(text, str):
        raise QuantityError(f"{_quote(text)} is not {spec.name}", f"write it like '{spec.example}'")
    if len(text) > LONGEST:
        raise QuantityError(f"{_quote(text)} is longer than {LONGEST} characters", f"write it like '{spec.example}'")
    shown = _quote(text.strip())
    plain = _SHORTENED.sub("", re.sub(r"''", '"', " ".join(text.translate(_PLAIN).split())))
    _refuse_usual_slips(plain, shown, spec)
    sign = 1
    if plain[:1] in ("-", "+"):
        if not signed:
            raise QuantityError(f"{shown} has a sign", f"{spec.name} here is written without one")
        sign = -1 if plain[0] == "-" else 1
        plain = plain[1:].lstrip()
    if kind == "aspect" and ":" in plain:
        return sign * _quotient(plain, shown, spec)
    parts = _parts(kind, plain, shown, spec)
    if kind == "temperature" and len(parts) == 1:
        return _kelvin(sign * parts[0][0], parts[0][1].lower(), shown, spec)
    value = sign * _sum(kind, parts, shown, spec)
    if spec.whole and value != int(value):
        raise QuantityError(f"{shown} is not a whole number", f"write it like '{spec.example}'")
    return value


def _quote(text: object) -> str:
    short = str(text)
    return f"'{short if len(short) <= LONGEST else short[:40] + '...'}'"


def _refuse_usual_slips(plain: str, shown: str, spec: Kind) -> None:
    if not plain:
        raise QuantityError("nothing is written here", f"write {spec.name} like '{spec.example}'")
    if re.search(r"[0-9]\s*,\s*[0-9]", plain):
        raise QuantityError(shown, _without_commas(plain, spec))
    if spec is KINDS["money"] and re.fullmatch(r"[1-9][0-9]{0,2}\.[0-9]{3}", plain):  # thousands, to many
        trimmed = plain.rstrip("0").rstrip(".") if plain.endswith("0") else f"{plain}0"
        raise QuantityError(shown, f"write '{plain.replace('.', '')}', or '{trimmed}' if the point was a decimal one")
    if re.search(r"[0-9]\s*e\s*[+-]?\s*[0-9]", plain, re.IGNORECASE):
        raise QuantityError(shown, "write the number out, without an exponent")
    dotted = re.search(r"([a-z]+)\.[0-9]", plain, re.IGNORECASE)
    if dotted and dotted[1].lower() in spec.units:  # 8 ft.6 in: the dot of 'ft.', or that of 0.6?
        at = dotted.end(1)
        raise QuantityError(
            shown, f"write '{plain[:at]} {plain[at + 1 :]}', or '{plain[:at]} 0{plain[at:]}' if so little is meant"
        )
    if re.match(r"[+-]?\s*\.?(nan|inf)", plain, re.IGNORECASE):
        raise QuantityError(f"{shown} is not a number", f"write {spec.name} like '{spec.example}'")


def _without_commas(plain: str, spec: Kind) -> str:
    """How to write a text with commas in its numbers; both ways where a comma may mark thousands or decimals."""
    numbers = [re.sub(r"\s", "", number) for number in _MARKED.findall(plain)]
    thousands, decimals = ([read(n) if "," in n else n for n in numbers] for read in (_by_thousands, _by_decimals))
    if spec.whole:
        decimals = thousands
    if any(a is None and b is None for a, b in zip(thousands, decimals)):
        what = "it" if spec.whole else "one decimal point and no other mark,"
        return f"write {what} like '{spec.example}'"
    unsure = any(a and b and a != b for a, b in zip(thousands, decimals))
    first = _in_place(plain, [a or b for a, b in zip(thousands, decimals)])
    if unsure:
        trimmed = [(b.rstrip("0").rstrip(".") if a and a != b else b) if b else a for a, b in zip(thousands, decimals)]
        return f"write '{first}', or '{_in_place(plain, trimmed)}' if the comma was a decimal one"
    return f"write a decimal point ('{first}')" if any(decimals) and not any(thousands) else f"write '{first}'"


def _by_thousands(number: str) -> str | None:
    """A number in which commas mark thousands: ``1,200.5``."""
    return number.replace(",", "") if re.fullmatch(r"[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]+)?", number) else None


def _by_decimals(number: str) -> str | None:
    """A number in which a comma marks decimals, and points may mark thousands: ``2,4``, ``1.200,5``."""
    if not re.fullmatch(r"([0-9]+|[1-9][0-9]{0,2}(\.[0-9]{3})+),[0-9]+", number):
        return None
    return number.replace(".", "").replace(",", ".")


def _in_place(plain: str, numbers: list[str]) -> str:
    """The text with other numbers in the place of its marked ones."""
    left = iter(numbers)
    return _MARKED.sub(lambda _: next(left), plain)


def _quotient(plain: str, shown: str, spec: Kind) -> Fraction:
    match = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)\s*:\s*([0-9]+(?:\.[0-9]+)?)", plain)
    if not match or Fraction(match[2]) == 0:
        raise QuantityError(f"{shown} is not {spec.name}", "write it like '16:9' or '2.40:1'")
    return Fraction(match[1]) / Fraction(match[2])


def _parts(kind: str, plain: str, shown: str, spec: Kind) -> list[tuple[Fraction, str]]:
    """The numbers of a text, each with its unit as written."""
    pattern = _POWER if kind in ("area", "volume", "luminance") else _PART
    parts: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(plain):
        if parts and plain[at:].lstrip().startswith("-"):  # 18'-6"
            at = plain.index("-", at) + 1
        match = pattern.match(plain, at)
        if not match:
            raise _unreadable(plain, shown, spec)
        parts.append((_value(match, shown), match["unit"] or ""))
        at = match.end()
    if not all(unit and unit.lower() != "to" for _, unit in parts) and not spec.bare:
        if kind == "length" and [unit.lower() for _, unit in parts] in (["'", ""], ["ft", ""]) and parts[1][0] < 12:
            whole = parts[0][0] * FOOT + parts[1][0] * INCH  # 5'-11 3/4, as tapes are read out: no range
            remedy = f"write '{show('length', whole, 'ft-in')}' if inches are meant"
            raise QuantityError(f"{shown} has a number without a unit", remedy)
        if kind == "length" and (said := re.fullmatch(r"([0-9]+)\s*m\s*([0-9]{2})", plain, re.IGNORECASE)):  # 2m40
            raise QuantityError(f"{shown} has a number without a unit", f"write '{said[1]}.{said[2]} m'")
        if _RANGE.search(plain):
            raise _unreadable(plain, shown, spec)
        if len(parts) > 1:
            raise QuantityError(f"{shown} has a number without a unit", f"write {spec.name} like '{spec.example}'")
    return parts


def _sum(kind: str, parts: list, shown: str, spec: Kind) -> Number:
    """Parts such as feet and inches: larger unit first, each less than one of the unit before."""
    factors = [_factor(unit, number, shown, spec) for number, unit in parts]
    if len(parts) > 1:
        _check_compound(kind, parts, factors, shown, spec)
    return sum(number * factor for (number, _), factor in zip(parts, factors, strict=True))


def _value(match: re.Match, shown: str) -> Fraction:
    top, bottom = match["top"] or match["top2"], match["bottom"] or match["bottom2"]
    if top is None:
        return Fraction(match["decimal"])
    if int(bottom) == 0:
        raise QuantityError(f"{shown} divides by zero", "write a fraction like 1/2")
    fraction = Fraction(int(top), int(bottom))
    if match["whole"] is not None and fraction >= 1:
        raise QuantityError(f"{shown}: {top}/{bottom} is no part of one", "write a proper fraction like 1/2")
    return int(match["whole"] or 0) + fraction


def _factor(unit: str, number: Fraction, shown: str, spec: Kind) -> Number:
    if not unit:
        if spec.bare:
            return Fraction(1)
        proposals = [f"'{_short(number)} {u}'" for u in spec.write]
        listed = " or ".join(filter(None, (", ".join(proposals[:-1]), proposals[-1])))
        raise QuantityError(f"{shown} has no unit", f"write {listed}")
    factor = spec.units.get(unit.lower())
    if factor is not None:
        return factor
    if not spec.bare:
        raise QuantityError(
            f"{shown}: '{unit}' is no unit of {spec.name}",
            "write " + " or ".join(filter(None, (", ".join(spec.write[:-1]), spec.write[-1]))),
        )
    raise _unreadable(shown, shown, spec)


def _short(number: Fraction) -> str:
    return f"{float(number):g}"


def _check_compound(kind: str, parts: list, factors: list, shown: str, spec: Kind) -> None:
    if kind != "length":
        raise _unreadable(shown, shown, spec)
    if 0 < sum(factor in _IMPERIAL for factor in factors) < len(factors):
        raise QuantityError(f"{shown} mixes feet or inches with metres", "write one or the other")
    for (number, unit), (_, smaller), factor, next_factor in zip(parts, parts[1:], factors, factors[1:], strict=False):
        if next_factor >= factor and _RANGE.search(shown):
            raise _unreadable(shown, shown, spec)
        if factor not in _IMPERIAL and _RANGE.search(shown):  # 4 m - 60 cm: a difference, a range, hardly a sum
            raise QuantityError(
                f"{shown}: a dash joins feet and inches alone",
                f"write one length, like '{spec.example}' or '2.4 m', or a range as {{from: ..., to: ...}}",
            )
        if next_factor >= factor:
            raise QuantityError(f"{shown}: '{smaller}' after '{unit}'", "write the larger unit first")
        if number.denominator != 1:
            raise QuantityError(f"{shown} has a fraction before its last unit", "write the fraction on the last unit")
    for (number, unit), factor, larger in zip(parts[1:], factors[1:], factors, strict=False):
        if number * factor >= larger:
            whole = sum(n * f for (n, _), f in zip(parts, factors, strict=True))
            system = "ft-in" if factor in _IMPERIAL else "mm"
            raise QuantityError(
                f"{shown}: {_short(number)} {unit} is no part of the larger unit",
                f"write '{show('length', whole, system)}' if that is meant",
            )


def _unreadable(plain: str, shown: str, spec: Kind) -> QuantityError:
    if _RANGE.search(plain):
        return QuantityError(f"{shown} is not {spec.name}", "write a range as {from: ..., to: ...}")
    if _EITHER.search(plain):
        return QuantityError(f"{shown} is not {spec.name}", "write a choice as {choose: [..., ...]}")
    return QuantityError(f"{shown} is not {spec.name}", f"write it like '{spec.example}'")


def _kelvin(number: Fraction, unit: str, shown: str, spec: Kind) -> Number:
    scale = _factor(unit, number, shown, spec)
    zero = {"k": Fraction(0), "f": ZERO_CELSIUS - 32 * Fraction(5, 9)}.get(unit[-1], ZERO_CELSIUS)
    value = number * scale + zero
    if value <= 0:
        raise QuantityError(f"{shown} is not above absolute zero", "write it like '20 degC'")
    return value


# --- showing ----------------------------------------------------------------------------------


def other_system(system: str) -> str:
    """The system to show beside ``system``: metres beside feet or inches, and the reverse."""
    return "m" if system in ("ft-in", "in") else "ft-in"


def show(kind: str, value: Number, system: str = "m", *, decimals: int = 1) -> str:
    """``value`` (SI) as text, lengths and areas in ``system``; ``parse`` reads most of it back. ``decimals``: of a level.

    Lengths are rounded to 1/16 in, 1 mm (m, cm) or, where not whole, 0.1 mm (mm). What nothing
    bounds is shown as ``unlimited``.
    """
    if system not in SYSTEMS:
        raise ValueError(f"unknown system of units: {system}")
    if not isinstance(value, Fraction):
        value = float(value) + 0.0  # numpy's own kinds of number too; no negative zero
    if math.isnan(value):
        return "n/a"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-∞"
    if kind == "temperature":
        return _temperature(value, system)
    text = _magnitude(kind, -value if value < 0 else value, system, decimals)
    # A value that rounds to nothing is shown without a sign.
    return "-" + text if value < 0 and re.match(r"[0./ ]*[1-9]", text) else text


def show_within(low: Number, high: Number, system: str, *, about: Number | None = None) -> tuple[str, str]:
    """The ends of a stretch of lengths [m] as text, rounded to what lies within it; to the nearest where nothing that is
    shown does. A place in it that it is told ``about`` lies between them as it is shown itself."""
    step = INCH / 16
    if system in METRES:
        metres, decimals = METRES[system]
        step = Fraction(str(metres)) / 10**decimals
    # by less than a thousandth of what is shown an end is where it is said to be
    first = math.ceil(Fraction(low) / step - Fraction(1, 1000)) * step
    last = math.floor(Fraction(high) / step + Fraction(1, 1000)) * step
    if about is not None:
        first, last = min(first, Fraction(about)), max(last, Fraction(about))
    elif first > last:
        first, last = low, high
    return show("length", first, system), show("length", last, system)


NO_BREAK = "\u00a0"

_SHOWN_UNIT = (
    r"(?:ft2|ft3|ft|in|mm|cm|m2|m3|m|ms|s|kHz|Hz|dB|%|cd/m2|fL|lm|px/deg|degC|degF|lb|kg)(?![\w/])"  # longest first
)
_SHOWN = re.compile(
    r"(?<![\w.,/])(?:[±+-]\s?)?(?:\d+ ft )?(?:\d[\d.,]*(?: \d+/\d+)?|\d+/\d+) " + _SHOWN_UNIT + r"|± (?=\d)"
)


def unbroken(text: str, space: str = NO_BREAK, *, width: int | None = None) -> str:
    """The text with ``space``, where no line is broken, for each space inside a quantity as ``show`` writes it:
    half of ``3 1/2 in`` at a line's end would read as another length. Of a quantity with more letters than
    ``width`` it is the inches that stay whole, if they can."""

    def whole(match: re.Match) -> str:
        feet, mark, inches = match[0].rpartition(" ft ")
        for before, part in (("", match[0]), (feet + mark, inches)):
            if width is None or len(part) <= width:
                return before + part.replace(" ", space)
        return match[0]

    return _SHOWN.sub(whole, text)


def show_grid(step: Number, system: str) -> str:
    """A grid's step [m] as text that is the step itself, and not a rounding of it: in ``system`` where that
    shows it exactly, else in parts of an inch or in millimetres."""
    inches = Fraction(float(step) / float(INCH)).limit_denominator(64)
    in_inches = " ".join(str(part) for part in (inches // 1, inches % 1) if part) + " in"
    for text in (show("length", step, system), show("length", step, "mm"), in_inches):
        if math.isclose(float(parse("length", text)), float(step), rel_tol=1e-9):
            return text
    return f"{float(step) * 1000:.10g} mm"


def _temperature(value: Number, system: str) -> str:
    celsius = float(value - ZERO_CELSIUS)
    return f"{celsius * 1.8 + 32:.1f} degF" if system in ("ft-in", "in") else f"{celsius:.1f} degC"


def _magnitude(kind: str, value: Number, system: str, decimals: int) -> str:
    imperial = system in ("ft-in", "in")
    if kind == "length":
        return _length(value, system)
    if kind == "angle":
        return f"{float(value) / DEGREE:.1f}°"
    if kind == "level":
        return f"{float(value):.{decimals}f} dB"
    if kind == "ratio":
        return f"{float(value):.3f}"
    if kind == "time":
        return f"{float(value):.2f} s" if value >= 0.1 or value == 0 else f"{float(value) * 1000:.1f} ms"
    if kind == "frequency":
        return f"{_trimmed(float(value), 1 if value < 1000 else 0)} Hz"
    if kind == "area":
        return f"{float(value / FOOT**2):.1f} ft2" if imperial else f"{float(value):.2f} m2"
    if kind == "volume":
        return f"{float(value / FOOT**3):.0f} ft3" if imperial else f"{float(value):.0f} m3"
    if kind == "luminance":
        return f"{float(value) / FOOT_LAMBERT:.1f} fL" if imperial else f"{float(value):.1f} cd/m2"
    if kind == "flux":
        return f"{float(value):.0f} lm"
    if kind == "pixels_per_degree":
        return f"{float(value):.1f} px/deg"
    if kind == "aspect":
        for wide, high in ((16, 9), (4, 3), (16, 10), (21, 9), (17, 9)):
            if math.isclose(value, wide / high, rel_tol=1e-9):
                return f"{wide}:{high}"
        return f"{float(value):.2f}:1"
    if kind == "count":
        return _trimmed(float(value), 3)  # a mean or a fade need not be whole
    if kind == "mass":
        return f"{float(value) / 0.45359237:.1f} lb" if imperial else f"{float(value):.1f} kg"
    if kind == "money":
        return _trimmed(float(value), 2)
    if kind == "number":
        return _trimmed(float(value), 3)
    raise ValueError(f"unknown kind of quantity: {kind}")


def _trimmed(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


METRES = {"m": (1.0, 3), "cm": (0.01, 1), "mm": (0.001, 1)}
"""Metres in a unit, and the decimals that lengths are shown with."""


def _length(value: Number, system: str) -> str:
    if system in METRES:
        # half a step is rounded up, whatever a sum of binary fractions makes of it: equal lengths are shown equal
        metres, decimals = METRES[system]
        shown = math.floor(round(float(value) / metres * 10**decimals, 6) + 0.5) / 10**decimals
        return f"{_trimmed(shown, decimals) if system == 'mm' else f'{shown:.{decimals}f}'} {system}"
    sixteenths = math.floor(Fraction(value) * 16 / INCH + Fraction(1, 2))
    feet, rest = divmod(sixteenths, 192) if system == "ft-in" else (0, sixteenths)
    inches, part = divmod(rest, 16)
    fraction = f"{Fraction(part, 16)}" if part else ""
    if not feet:
        return " ".join(filter(None, (str(inches) if inches or not part else "", fraction, "in")))
    if not rest:
        return f"{feet} ft"
    return " ".join(filter(None, (f"{feet} ft {inches}", fraction, "in")))
