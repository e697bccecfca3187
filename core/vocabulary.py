"""The words all of Dayrung uses: enumerations and ids, one spelling each.

Values are what is stored and what templates and YAML files key on; changing one needs a migration.
"""

from enum import StrEnum
from typing import NewType

PersonId = NewType("PersonId", int)
AlertId = NewType("AlertId", int)
SessionId = NewType("SessionId", int)
WalkId = NewType("WalkId", int)


class Sex(StrEnum):
    """Sex as body tables use it."""

    FEMALE = "f"
    MALE = "m"


class Condition(StrEnum):
    """A health condition that changes what is safe, as told at joining."""

    HEART = "heart"
    HEART_FAILURE = "heart_failure"
    ANGINA = "angina"
    PRESSURE = "pressure"
    RHYTHM = "rhythm"
    PACEMAKER = "pacemaker"
    STROKE = "stroke"
    LUNG = "lung"
    ASTHMA = "asthma"
    DIABETES = "diabetes"
    KIDNEY = "kidney"
    ARTHRITIS = "arthritis"
    JOINT_REPLACEMENT = "joint_replacement"
    THIN_BONES = "thin_bones"
    SPINE_FRACTURE = "spine_fracture"
    GLAUCOMA = "glaucoma"
    NERVE_LOSS = "nerve_loss"
    HEART_TRANSPLANT = "heart_transplant"
    VALVE = "valve"
    ANEURYSM = "aneurysm"
    LEG_ARTERIES = "leg_arteries"
    DEFIBRILLATOR = "defibrillator"
    HOME_OXYGEN = "home_oxygen"
    RHEUMATOID_ARTHRITIS = "rheumatoid_arthritis"
    HIP_KNEE_ARTHRITIS = "hip_knee_arthritis"
    VERTIGO = "vertigo"
    PARKINSON = "parkinson"
    MULTIPLE_SCLEROSIS = "multiple_sclerosis"
    EPILEPSY = "epilepsy"
    DEMENTIA = "dementia"
    CANCER_CARE = "cancer_care"
    PREGNANCY = "pregnancy"
    HERNIA = "hernia"
    OBESITY = "obesity"
    LATEX_ALLERGY = "latex_allergy"


class Medicine(StrEnum):
    """A medicine class, as far as it changes pulse, pressure, sugar, falls or bleeding."""

    BETA_BLOCKER = "beta_blocker"
    BETA_BLOCKER_EYE_DROPS = "beta_blocker_eye_drops"
    IVABRADINE = "ivabradine"
    RATE_CALCIUM_BLOCKER = "rate_calcium_blocker"
    CALCIUM_BLOCKER = "calcium_blocker"
    DIGOXIN = "digoxin"
    ACE_OR_ARB = "ace_or_arb"
    NITRATE = "nitrate"
    DIURETIC = "diuretic"
    ALPHA_BLOCKER = "alpha_blocker"
    CENTRAL_PRESSURE = "central_pressure"
    RHYTHM_MEDICINE = "rhythm_medicine"
    RELIEVER_INHALER = "reliever_inhaler"
    LONG_ACTING_INHALER = "long_acting_inhaler"
    ANTICHOLINERGIC_INHALER = "anticholinergic_inhaler"
    THEOPHYLLINE = "theophylline"
    LEVOTHYROXINE = "levothyroxine"
    DECONGESTANT = "decongestant"
    STIMULANT = "stimulant"
    SNRI = "snri"
    TRICYCLIC = "tricyclic"
    SSRI = "ssri"
    INSULIN = "insulin"
    SULFONYLUREA = "sulfonylurea"
    BLOOD_THINNER = "blood_thinner"
    GLINIDE = "glinide"
    SGLT2 = "sglt2"
    OPIOID = "opioid"
    SEDATIVE = "sedative"
    GABAPENTINOID = "gabapentinoid"
    ANTIPSYCHOTIC = "antipsychotic"
    LEVODOPA = "levodopa"
    STEROID = "steroid"
    BLADDER = "bladder"
    BONE = "bone"
    QUINOLONE = "quinolone"
    UNKNOWN = "unknown"


class WalkingAid(StrEnum):
    """What somebody walks with, least help first."""

    NONE = "none"
    STICK = "stick"
    CRUTCHES = "crutches"
    FRAME = "frame"
    WHEELED_FRAME = "wheeled_frame"
    WHEELCHAIR = "wheelchair"


class Spare(StrEnum):
    """A joint or position to protect; a rung that stresses it is left out of the ladder."""

    KNEE = "knee"
    HIP = "hip"
    BACK = "back"
    NECK = "neck"
    SHOULDER = "shoulder"
    ELBOW = "elbow"
    WRIST = "wrist"
    ANKLE = "ankle"
    FLOOR = "floor"
    KNEELING = "kneeling"
    OVERHEAD = "overhead"
    HEAD_DOWN = "head_down"


class Kit(StrEnum):
    """What is at home. Numbers: surfaces in cm above the floor, a bottle or weight in kg."""

    CHAIR = "chair"
    BENCH = "bench"
    TABLE = "table"
    STEP = "step"
    BOTTLE = "bottle"
    BAND = "band"
    WALL = "wall"
    MAT = "mat"
    CUSHION = "cushion"


class Band(StrEnum):
    """Elastic band by stiffness, lightest first; colours differ between sellers: none is named."""

    LIGHT = "light"
    MEDIUM = "medium"
    HEAVY = "heavy"


class Aim(StrEnum):
    """What a client trains for; decides the range of repetitions."""

    ENDURANCE = "endurance"
    STRENGTH = "strength"
    OPEN = "open"


class Family(StrEnum):
    """All variants of one movement."""

    SQUAT = "squat"
    LUNGE = "lunge"
    PUSH = "push"
    PULL = "pull"
    SIDE_LIFT = "side_lift"
    BRIDGE = "bridge"
    HINGE = "hinge"
    HEEL_RAISE = "heel_raise"
    STEP = "step"
    BRACE = "brace"
    CARRY = "carry"
    GET_UP = "get_up"
    BALANCE = "balance"
    OVERHEAD = "overhead"
    WARM_UP = "warm_up"
    COOL_DOWN = "cool_down"
    MOBILITY = "mobility"
    BREATHING = "breathing"


class DayPlan(StrEnum):
    """What readiness makes of the day, hardest first."""

    AS_PLANNED = "as_planned"
    EASE_OFF = "ease_off"
    REST = "rest"


class Sign(StrEnum):
    """A red-flag symptom. Levels, first actions and holds are in ``core/red_flags/signs.yaml``."""

    CARDIAC_ARREST = "cardiac_arrest"
    CHOKING = "choking"
    ANAPHYLAXIS = "anaphylaxis"
    CO_GAS = "co_gas"
    OPIOID_SLEEPY = "opioid_sleepy"
    ICD_SHOCKS = "icd_shocks"
    ICD_SHOCK = "icd_shock"
    CHEST_PAIN = "chest_pain"
    CHEST_DISCOMFORT_GONE = "chest_discomfort_gone"
    FAINT = "faint"
    DIZZINESS = "dizziness"
    BREATHLESS_REST = "breathless_rest"
    BREATHLESS_EFFORT = "breathless_effort"
    PALPITATIONS = "palpitations"
    STROKE = "stroke"
    THUNDERCLAP_HEADACHE = "thunderclap_headache"
    COUGHING_BLOOD = "coughing_blood"
    CALF_CLOT = "calf_clot"
    HOT_JOINT = "hot_joint"
    HYPO = "hypo"
    KETO_HIGH = "keto_high"
    SUGAR_ILL = "sugar_ill"
    SUGAR_HIGH = "sugar_high"
    SEPSIS = "sepsis"
    MENINGITIS = "meningitis"
    CHEMO_FEVER = "chemo_fever"
    CONFUSION_NEW = "confusion_new"
    AORTA = "aorta"
    COLD_LIMB = "cold_limb"
    PRIL_SWELLING = "pril_swelling"
    LOW_OXYGEN = "low_oxygen"
    FLOZIN_KETO = "flozin_keto"
    TIA = "tia"
    SIDE_LOST = "side_lost"
    SEIZURE = "seizure"
    VOMIT_BLOOD = "vomit_blood"
    GUT_BLEED = "gut_bleed"
    BLEED_WONT_STOP = "bleed_wont_stop"
    LONG_LIE = "long_lie"
    FALL_STUCK = "fall_stuck"
    HIP_BREAK = "hip_break"
    HEAD_THINNER = "head_thinner"
    SPINE_BREAK = "spine_break"
    JOINT_OUT = "joint_out"
    JOINT_INFECTED = "joint_infected"
    CLOT_AFTER_OP = "clot_after_op"
    HF_WORSE = "hf_worse"
    GCA = "gca"
    EYE_PAIN = "eye_pain"
    EYE_CURTAIN = "eye_curtain"
    HEARING_SUDDEN = "hearing_sudden"
    HERNIA_STUCK = "hernia_stuck"
    TESTICLE_PAIN = "testicle_pain"
    CANT_PEE = "cant_pee"
    RHABDO = "rhabdo"
    DOSE_INSULIN = "dose_insulin"
    DOSE_THINNER = "dose_thinner"
    DOSE_HEART = "dose_heart"
    DRUG_HEAT_STIFF = "drug_heat_stiff"
    HEAT_STROKE = "heat_stroke"
    HYPOTHERMIA = "hypothermia"
    ELECTRIC_SHOCK = "electric_shock"
    BURN = "burn"
    SLOW_PULSE = "slow_pulse"
    LOW_PRESSURE = "low_pressure"
    ASTHMA_SEVERE = "asthma_severe"
    CAUDA_EQUINA = "cauda_equina"
    FALL = "fall"
    HEAD_INJURY = "head_injury"
    VISION_LOSS = "vision_loss"
    JOINT_REPLACEMENT = "joint_replacement"
    ANKLE_SWELLING = "ankle_swelling"
    FEVER = "fever"
    SELF_HARM = "self_harm"
    ABUSE = "abuse"
    SELF_NEGLECT = "self_neglect"
    # Signs that only tapped answers, numbers or watches raise:
    NEW_PAIN = "new_pain"
    SILENT_SESSION = "silent_session"
    HIGH_PRESSURE = "high_pressure"
    FAST_PULSE = "fast_pulse"
    UNREAD = "unread"
    UNSURE = "unsure"


class TextLevel(StrEnum):
    """What the reader makes of a text, most serious first."""

    EMERGENCY = "emergency"
    URGENT = "urgent"
    ASK = "ask"
    NONE = "none"


class AlertLevel(StrEnum):
    """How loud an alert is, loudest first. A mention is on the coach's list and is not chased."""

    EMERGENCY = "emergency"
    URGENT = "urgent"
    MENTION = "mention"


class Role(StrEnum):
    """Who a person is here."""

    CLIENT = "client"
    COACH = "coach"


MMOL_PER_MG = 1 / 18.0156
"""Glucose, mmol/L for 1 mg/dL: its molar mass is 180.156 g/mol."""
