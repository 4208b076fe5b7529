"""The verdict as one plain sentence, said before anything else."""

from kb.rules.fit.shape import list_size_fields
from kb.rules.fit.values import Asked, PartRef, Verdict
from kb.terms import Certainty, Outcome, Position

_OUTCOME_WORDS = {
    Outcome.FITS: "Yes, {what} fits {engine}{place}.",
    Outcome.FITS_WITH_CHANGE: "{what} goes into {engine}{place}, but something changes.",
    Outcome.DOES_NOT_FIT: "No, {what} does not fit {engine}{place}.",
    Outcome.NOT_KNOWN: "Not known whether {what} fits {engine}{place}.",
}
_CERTAINTY_WORDS = {
    Certainty.SURE: "This is sure.",
    Certainty.PROBABLE: "This is probable.",
    Certainty.UNSURE: "This is unsure: measure first.",
}


def say_verdict(verdict: Verdict) -> str:
    """One or two sentences for the person at the counter."""
    place = f" as {verdict.position.replace('_', ' ')}" if verdict.position else ""
    what = say_asked(verdict.asked, verdict.position)
    sentence = _OUTCOME_WORDS[verdict.outcome].format(what=what, engine=verdict.engine, place=place)
    main = max(verdict.consequences, key=lambda item: abs(item.change_percent or 0.0), default=None)
    parts = [sentence[0].upper() + sentence[1:]]
    if main and verdict.outcome is Outcome.FITS_WITH_CHANGE:
        parts.append(main.text)
    if verdict.conflict and verdict.certainty is Certainty.UNSURE:
        parts.append("The evidence disagrees; the more cautious answer stands.")
    elif verdict.conflict:
        parts.append("Weaker evidence disagrees; see below.")
    parts.append(_CERTAINTY_WORDS[verdict.certainty])
    return " ".join(parts)


def say_asked(asked: Asked, position: Position | None) -> str:
    """What was asked about, as a person would name it."""
    if asked.part is not None:
        return say_part(asked.part)
    said = say_size(asked, position)
    return said or f"'{asked.text}'"


def say_part(part: PartRef) -> str:
    """Maker and number of a part."""
    return f"{part.maker} {part.part_number}"


def say_size(asked: Asked, position: Position | None) -> str:
    """The size asked about in one phrase; empty where no number is known.

    Example:
        >>> from kb.rules.fit.values import PartSize
        >>> say_size(Asked(PartSize(length_mm=743.0, top_width_mm=20.0, angle_deg=30.0)), Position.DRIVE_BELT)
        'a belt 743 × 20 × 30°'
        >>> say_size(Asked(PartSize(length_mm=743.0, angle_deg=28.0)), Position.DRIVE_BELT)
        'a belt 743 × 28°'
    """
    size = asked.size
    if position is Position.DRIVE_BELT and size.length_mm is not None:
        stated = ((size.length_mm, ""), (size.top_width_mm, ""), (size.angle_deg, "°"))
        return "a belt " + " × ".join(f"{number:g}{unit}" for number, unit in stated if number is not None)
    if position is Position.ROLLERS and size.diameter_mm is not None and size.width_mm is not None:
        mass = f" of {size.mass_g:g} g" if size.mass_g is not None else ""
        return f"a roller {size.diameter_mm:g} × {size.width_mm:g} mm{mass}"
    if size.thread is not None:
        return f"a thread {size.thread}"
    known = [
        f"{name.rsplit('_', 1)[0].replace('_', ' ')} {value:g}"
        if isinstance(value, float | int)
        else f"{name} {value}"
        for name in list_size_fields(position)
        if (value := getattr(size, name)) is not None
    ]
    return "a part with " + ", ".join(known) if known else ""
