"""The closed catalogue of cautions that stand beside a step, a torque or a whole job.

Signal words as ANSI Z535.6 and ISO 3864 define them (the standards themselves not read): DANGER will kill or
maim, WARNING could, CAUTION could injure, NOTICE is damage only. A caution is data with four parts, so
that no page or print can drop the half that says what to do.

Source: common practice, no source, except where a caution names another basis. Safety data sheets, the
maker's manual and local rules decide over all of them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from kb.terms import Hand, Position, SourceKind

GENERAL_CAUTION = (
    "For people with the training and the tools for this work. The maker's manual for the exact machine "
    "decides over every value shown here; where local rules ask for licensed practice, they decide."
)


class Signal(StrEnum):
    """Signal word, the gravest first."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


SIGNAL_ORDER = tuple(Signal)


@dataclass(frozen=True, slots=True)
class Caution:
    """What is dangerous, what it can do, and how to avoid it."""

    signal: Signal
    hazard: str
    consequence: str
    avoidance: str
    basis: str = "common practice, no source"

    def as_text(self) -> str:
        """Caution in one paragraph, signal word first."""
        return f"{self.signal}: {self.hazard} {self.consequence} {self.avoidance}"

    def as_json(self) -> dict[str, str]:
        """Caution as data."""
        return {
            "signal": str(self.signal),
            "hazard": self.hazard,
            "consequence": self.consequence,
            "avoidance": self.avoidance,
            "basis": self.basis,
        }


COMPRESSED_SPRING = Caution(
    Signal.WARNING,
    "The contra spring is compressed behind the clutch nut.",
    "When the nut leaves its thread, clutch and spring fly apart and can injure face and hands.",
    "Hold the assembly down in a press, clamp or spring compressor before the last turns, let it relax "
    "slowly, keep your face out of its line and wear eye protection.",
)
HOOKED_SPRINGS = Caution(
    Signal.WARNING,
    "The small clutch springs are under tension on their hooks.",
    "A spring that slips off can hit an eye.",
    "Wear eye protection, hook and unhook with a spring puller and check that every hook sits fully.",
)
IMPACT_TOOL = Caution(
    Signal.WARNING,
    "An impact tool throws chips and can burst a socket that is not made for it.",
    "Eyes and hearing can be injured, and blows on the end of a crankshaft can damage it.",
    "Use impact-rated sockets, eye and hearing protection, and a holding tool on the pulley, never on its "
    "fins; loosen with it, and leave the final tightening to a torque wrench.",
    "judgement of this project on common practice; socket rating from memory",
)
HELD_BY_FINS = Caution(
    Signal.NOTICE,
    "The cooling fins are thin castings.",
    "They break when a bar or screwdriver is jammed between them, and the face is then out of balance.",
    "Hold pulley or bell with the holding tool made for it.",
)
SOLVENT = Caution(
    Signal.WARNING,
    "Brake cleaner and other solvents give vapours that burn and that make people ill.",
    "They can catch fire on sparks or hot parts; chlorinated ones turn into toxic gas near heat or welding.",
    "Ventilate, wear gloves, keep flame and sparks away, never spray on a hot or running engine, and keep "
    "the spray off belt and seals.",
    "from memory; the safety data sheet of the product decides",
)
LINING_DUST = Caution(
    Signal.CAUTION,
    "The cover is full of dust from belt, rollers and clutch linings.",
    "It harms the lungs, and old friction linings may hold asbestos.",
    "Wear a dust mask and wipe wet or use a filtered vacuum; never blow it out with air or brush it dry.",
    "from memory of occupational rules for brake and clutch work",
)
SUPPORT_AND_IGNITION = Caution(
    Signal.WARNING,
    "The engine can start or the machine can fall while hands are in the drive.",
    "Fingers between belt and pulley are crushed.",
    "Stand it on its main stand on firm ground, switch off and take the key out, pull the plug cap, shut the "
    "fuel tap, and take the battery's earth off before work on the starter.",
)
RUNNING_UNCOVERED = Caution(
    Signal.WARNING,
    "Without its cover the running drive is bare, and the rear shaft may lack its outer bearing.",
    "It catches fingers, hair and clothing, and a breaking belt leaves at speed.",
    "Do not run the engine with the cover off.",
)
HOT_PARTS = Caution(
    Signal.CAUTION,
    "Engine, exhaust, belt and pulleys are hot after a ride.",
    "They burn the skin.",
    "Let the machine cool down before the cover comes off.",
)
GREASE_ON_FACES = Caution(
    Signal.NOTICE,
    "Grease or oil on belt, pulley faces, rollers or inside the bell makes the drive slip.",
    "Belt and linings are spoilt.",
    "Degrease faces and bell before assembly, with clean hands; grease only where the manual asks for it.",
)
BELT_UNDER_NUT = Caution(
    Signal.NOTICE,
    "A belt that sits high between the front faces is clamped when the front nut is tightened.",
    "The torque reading is false, and the nut comes loose once the belt settles.",
    "Open the rear pulley and push the belt down into it first; then see that the front faces seat on the "
    "boss.",
)
RECHECK_ONCE = Caution(
    Signal.NOTICE,
    "Tightening a nut again and again stretches its thread.",
    "Nut or shaft fails.",
    "Check the nuts after the first short run only if the manual asks for it.",
)
SINGLE_USE = Caution(
    Signal.NOTICE,
    "This nut, washer or pin is made for one use.",
    "Used again it does not hold.",
    "Fit a new one each time.",
)
LOCKING_COMPOUND = Caution(
    Signal.NOTICE,
    "Thread-locking compound holds only on clean threads, and lubricates them while it is wet.",
    "On oily threads it does not hold; on rubber and plastics it does damage.",
    "Clean and degrease first, use the torque as printed for the compound without a correction, and let it "
    "cure.",
    "from memory",
)
TORQUE_FOLLOWS_MANUAL = Caution(
    Signal.WARNING,
    "A torque holds for one fastener, thread and condition only.",
    "A wrong one strips a thread or lets a nut come loose while riding.",
    "Follow the maker's manual; where it differs from the value shown, the manual is right.",
)
TORQUE_NOT_VERIFIED = Caution(
    Signal.WARNING,
    "This torque is unverified: no manual or published standard stands behind it.",
    "It can be wrong, and the nut then fails or comes loose.",
    "Look the value up in the maker's manual before using it.",
)
TORQUE_NOT_KNOWN = Caution(
    Signal.WARNING,
    "The torque of this fastener is not known here.",
    "A guessed torque strips a thread or lets the nut come loose while riding.",
    "Do not guess: look it up in the maker's manual.",
)
LIMITING_BAR = Caution(
    Signal.WARNING,
    "A torque-limiting bar limits, it does not measure; plan with a quarter more or less than its marking.",
    "A nut left at what the bar gave can be loose or overtightened.",
    "Finish with a torque wrench.",
    "scatter: judgement of this project",
)
LEFT_HAND_THREAD = Caution(
    Signal.NOTICE,
    "This thread is left-hand: it loosens clockwise.",
    "Force the wrong way breaks nut or shaft.",
    "Check the direction, and the switch of a power tool, before applying force.",
)
UNKNOWN_HAND = Caution(
    Signal.NOTICE,
    "The hand of this thread is not known.",
    "Force the wrong way breaks nut or shaft.",
    "Look for a mark (LH, notches on the corners, an arrow) or at the visible thread before applying force.",
    "marks: LH of ISO 965-1; notches and arrow from memory",
)
CHANGED_TUNING = Caution(
    Signal.NOTICE,
    "Another roller mass or spring than the standard one changes speed and engine revolutions.",
    "The machine may lose its type-approval, insurance cover or speed class.",
    "Check the local rules and tell the owner.",
)

CATALOGUE = (
    COMPRESSED_SPRING,
    HOOKED_SPRINGS,
    IMPACT_TOOL,
    SOLVENT,
    SUPPORT_AND_IGNITION,
    RUNNING_UNCOVERED,
    TORQUE_FOLLOWS_MANUAL,
    TORQUE_NOT_VERIFIED,
    TORQUE_NOT_KNOWN,
    LIMITING_BAR,
    LINING_DUST,
    HOT_PARTS,
    HELD_BY_FINS,
    GREASE_ON_FACES,
    BELT_UNDER_NUT,
    RECHECK_ONCE,
    SINGLE_USE,
    LOCKING_COMPOUND,
    LEFT_HAND_THREAD,
    UNKNOWN_HAND,
    CHANGED_TUNING,
)

CAUTIONS_OF_JOB = (SUPPORT_AND_IGNITION, RUNNING_UNCOVERED, SOLVENT, HOT_PARTS, LINING_DUST)

CAUTIONS_OF_POSITION: dict[Position, tuple[Caution, ...]] = {
    Position.DRIVE_BELT: (GREASE_ON_FACES, BELT_UNDER_NUT),
    Position.ROLLERS: (LINING_DUST, GREASE_ON_FACES, CHANGED_TUNING),
    Position.SLIDERS: (GREASE_ON_FACES,),
    Position.VARIATOR: (LINING_DUST, GREASE_ON_FACES),
    Position.RAMP_PLATE: (GREASE_ON_FACES,),
    Position.DRIVE_BOSS: (GREASE_ON_FACES,),
    Position.DRIVE_FACE: (HELD_BY_FINS, GREASE_ON_FACES),
    Position.DRIVEN_FACE: (COMPRESSED_SPRING, GREASE_ON_FACES),
    Position.CRANK_NUT: (IMPACT_TOOL, HELD_BY_FINS, BELT_UNDER_NUT, RECHECK_ONCE),
    Position.BELL_NUT: (IMPACT_TOOL, RECHECK_ONCE),
    Position.CLUTCH_NUT: (COMPRESSED_SPRING, IMPACT_TOOL),
    Position.CLUTCH_BELL: (LINING_DUST, GREASE_ON_FACES),
    Position.CLUTCH_SHOES: (COMPRESSED_SPRING, HOOKED_SPRINGS, LINING_DUST),
    Position.CLUTCH_SPRINGS: (HOOKED_SPRINGS, LINING_DUST, CHANGED_TUNING),
    Position.CONTRA_SPRING: (COMPRESSED_SPRING, CHANGED_TUNING),
    Position.TORQUE_DRIVER: (COMPRESSED_SPRING, GREASE_ON_FACES),
    Position.GUIDE_PINS: (COMPRESSED_SPRING, GREASE_ON_FACES),
    Position.TORQUE_DRIVER_SEAL: (COMPRESSED_SPRING, GREASE_ON_FACES),
    Position.TORQUE_DRIVER_O_RING: (COMPRESSED_SPRING, GREASE_ON_FACES),
    Position.SHAFT_O_RING: (GREASE_ON_FACES,),
    Position.DRIVEN_NEEDLE_BEARING: (COMPRESSED_SPRING, GREASE_ON_FACES),
    Position.COVER_BEARING: (RUNNING_UNCOVERED,),
    Position.COVER_SCREWS: (HOT_PARTS, LINING_DUST),
    Position.AIRBOX_SCREWS: (),
    Position.COVER_GASKET: (LINING_DUST,),
    Position.COVER_DOWELS: (),
    Position.KICK_GEAR: (),
    Position.RESTRICTOR_WASHER: (CHANGED_TUNING,),
}

VERIFIED_SOURCES = frozenset({SourceKind.MANUAL, SourceKind.STANDARD})


def cautions_for_position(position: Position) -> tuple[Caution, ...]:
    """Cautions that stand beside every step at a position, the gravest first."""
    return CAUTIONS_OF_POSITION[position]


def cautions_for_job() -> tuple[Caution, ...]:
    """Cautions that stand on the sheet of every job, the gravest first; GENERAL_CAUTION stands above them."""
    return CAUTIONS_OF_JOB


def cautions_for_torque(
    source: SourceKind | None,
    *,
    is_known: bool,
    hand: Hand = Hand.RIGHT,
    single_use: bool = False,
    locking: bool = False,
) -> tuple[Caution, ...]:
    """Cautions that stand beside a torque, the gravest first.

    Args:
        source: where the torque comes from; None when that is not known.
        is_known: False when there is no torque at all.
        hand: direction of the thread.
        single_use: the nut or its washer is made for one use.
        locking: a locking compound is asked for.

    Source: judgement of this project: only a manual or a published standard verifies a torque.

    Example:
        >>> [str(caution.signal) for caution in cautions_for_torque(SourceKind.ESTIMATE, is_known=True)]
        ['WARNING', 'WARNING']
        >>> cautions_for_torque(None, is_known=False) == (TORQUE_NOT_KNOWN,)
        True
    """
    unverified = is_known and source not in VERIFIED_SOURCES
    checks = (
        (not is_known, TORQUE_NOT_KNOWN),
        (unverified, TORQUE_NOT_VERIFIED),
        (is_known, TORQUE_FOLLOWS_MANUAL),
        (hand is Hand.LEFT, LEFT_HAND_THREAD),
        (hand is Hand.UNKNOWN, UNKNOWN_HAND),
        (single_use, SINGLE_USE),
        (locking, LOCKING_COMPOUND),
    )
    return tuple(caution for applies, caution in checks if applies)


def rank_cautions(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Each caution once, the gravest first, otherwise in the order given.

    Example:
        >>> rank_cautions([SINGLE_USE, HOT_PARTS, SINGLE_USE]) == (HOT_PARTS, SINGLE_USE)
        True
    """
    return tuple(sorted(dict.fromkeys(cautions), key=lambda caution: SIGNAL_ORDER.index(caution.signal)))
