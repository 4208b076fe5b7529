"""The closed list of reason codes that a verdict may carry, and what each says in one line."""

from enum import StrEnum


class ReasonCode(StrEnum):
    """Which rule a reason comes from; the part before the dot is the subject."""

    PART_TYPE = "part.type"
    PART_MAKER = "part.maker"
    PART_NEED = "part.need"
    PART_NO_RULE = "part.no_rule"
    PART_READING = "part.reading"
    PART_RECORD = "part.record"
    BELT_LENGTH = "belt.length"
    BELT_LENGTH_KIND = "belt.length_kind"
    BELT_TOP_WIDTH = "belt.top_width"
    BELT_ANGLE = "belt.angle"
    BELT_THICKNESS = "belt.thickness"
    BELT_MOUNT = "belt.mount_margin"
    BELT_GRIP = "belt.grip_margin"
    BELT_SLACK_AT_REST = "belt.slack_at_rest"
    BELT_SLACK_AT_FULL_SHIFT = "belt.slack_at_full_shift"
    BELT_DRIVE_EDGE = "belt.above_drive_edge"
    BELT_DRIVEN_EDGE = "belt.above_driven_edge"
    BELT_FLANK_ANGLE = "belt.flank_angle"
    BELT_LOW_RATIO = "belt.low_ratio"
    BELT_HIGH_RATIO = "belt.high_ratio"
    BELT_BOSS = "belt.bottoms_on_boss"
    BELT_DRIVEN_LIMIT = "belt.limited_by_driven_pulley"
    ROLLER_DIAMETER = "rollers.diameter"
    ROLLER_WIDTH = "rollers.width"
    ROLLER_COUNT = "rollers.count"
    ROLLER_MASS = "rollers.mass"
    SPRING_COUNT = "clutch_springs.count"
    SPRING_RATED_SPEED = "clutch_springs.rated_rpm"
    CONTRA_OUTER = "contra_spring.outer_space"
    CONTRA_INNER = "contra_spring.inner_space"
    CONTRA_COIL_BIND = "contra_spring.coil_bind"
    CONTRA_PRELOAD = "contra_spring.preload"
    THREAD_DIAMETER = "thread.diameter"
    THREAD_PITCH = "thread.pitch"
    THREAD_HAND = "thread.hand"
    ACROSS_FLATS = "fastener.across_flats"
    BORE = "size.bore"
    OUTSIDE = "size.outside"
    WIDTH = "size.width"
    CLEARANCE = "size.clearance"
    FORM = "size.form"


REASON_TEXT: dict[ReasonCode, str] = {
    ReasonCode.PART_TYPE: "A part of this type has no business at this position.",
    ReasonCode.PART_MAKER: "The part number alone names several parts; maker or exact number is needed.",
    ReasonCode.PART_NEED: "What the engine needs at this position is not recorded.",
    ReasonCode.PART_NO_RULE: "Parts at this position are judged by fit records only.",
    ReasonCode.PART_READING: "The size can be read in several ways, and none is chosen.",
    ReasonCode.PART_RECORD: "What the best-ranked fit records say.",
    ReasonCode.BELT_LENGTH: "Length against the length needed.",
    ReasonCode.BELT_LENGTH_KIND: "Lengths stated along different lines of the belt cannot be compared.",
    ReasonCode.BELT_TOP_WIDTH: "Top width against the width needed.",
    ReasonCode.BELT_ANGLE: "Included angle against the angle needed.",
    ReasonCode.BELT_THICKNESS: "Thickness against the thickness needed; another one lowers the class by one.",
    ReasonCode.BELT_MOUNT: "Whether the belt goes over both open pulleys.",
    ReasonCode.BELT_GRIP: "Whether the closed drive pulley grips the belt above its boss.",
    ReasonCode.BELT_SLACK_AT_REST: "Slack that the closed driven pulley cannot take up at rest.",
    ReasonCode.BELT_SLACK_AT_FULL_SHIFT: "Slack at full shift: the belt is never tensioned.",
    ReasonCode.BELT_DRIVE_EDGE: "How far the belt stands above the drive pulley's rim at full shift.",
    ReasonCode.BELT_DRIVEN_EDGE: "How far the belt stands above the driven pulley's rim at rest.",
    ReasonCode.BELT_FLANK_ANGLE: "Belt angle against the groove angle of the worse pulley.",
    ReasonCode.BELT_LOW_RATIO: "Change of the take-off ratio against the specified belt.",
    ReasonCode.BELT_HIGH_RATIO: "Change of the ratio at full shift against the specified belt.",
    ReasonCode.BELT_BOSS: "Whether the belt bottoms on the drive boss where the specified one does not.",
    ReasonCode.BELT_DRIVEN_LIMIT: "Whether another stop ends the travel than with the specified belt.",
    ReasonCode.ROLLER_DIAMETER: "Roller diameter must match.",
    ReasonCode.ROLLER_WIDTH: "Roller width must match.",
    ReasonCode.ROLLER_COUNT: "Number of rollers must match.",
    ReasonCode.ROLLER_MASS: "Mass of one roller; another mass moves the shift speed.",
    ReasonCode.SPRING_COUNT: "Number of clutch springs must match.",
    ReasonCode.SPRING_RATED_SPEED: "Rated speed of the clutch springs; another one moves engagement.",
    ReasonCode.CONTRA_OUTER: "The spring must go into its seat.",
    ReasonCode.CONTRA_INNER: "The spring must go over its guide.",
    ReasonCode.CONTRA_COIL_BIND: "The coils must not touch at the shortest length.",
    ReasonCode.CONTRA_PRELOAD: "Preload at the installed length; another one changes the belt clamp.",
    ReasonCode.THREAD_DIAMETER: "Thread diameter must match.",
    ReasonCode.THREAD_PITCH: "Thread pitch must match.",
    ReasonCode.THREAD_HAND: "Hand of the thread must match.",
    ReasonCode.ACROSS_FLATS: "Width across flats; another one takes another socket.",
    ReasonCode.BORE: "Bore must match.",
    ReasonCode.OUTSIDE: "Outside diameter must match.",
    ReasonCode.WIDTH: "Width must match; for an o-ring its section.",
    ReasonCode.CLEARANCE: "Clearance class of a bearing; may differ.",
    ReasonCode.FORM: "Form of lips or shields; may differ.",
}
