"""Signs told by their effects or in passing.

The texts are our own; what each should be read as is common practice: who cannot say how they came
to lie on the floor has fainted until shown otherwise, and so on through the signs.
"""

import pytest

from core.vocabulary import Sign, TextLevel

TOLD_BY_EFFECTS = {
    Sign.FALL: [
        "bruise on my hip the size of a plate, the bath edge got me",
        "ended up under the table with the tea tray",
        "got my foot caught in the hose and measured my length",
        "slid off the edge of the bed and sat there till morning",
        "took a nosedive off the porch",
        "I pressed my alarm pendant and two lads got me up",
        "my knee gave and I was on the gravel",
        "sat down hard on the path, missed the step",
        "couldn't get myself up, the fire brigade came",
        "lay on the bathroom floor till my daughter let herself in",
        "I was down on the kitchen floor for an hour before the carer came",
        "the mat went from under my feet",
        "wound up on the bathroom tiles before breakfast",
        "ended up on the lino with the shopping all round me",
        "found myself on the floor beside the bed",
        "had to crawl to the sofa to pull myself up",
        "my son had to get me up off the carpet",
        "two paramedics had to lift me up",
        "the neighbour had to get me up",
        "the stool shot out from under me",
        "the rug slid from under me on Sunday",
        "missed the chair when I went to sit",
        "misjudged the top stair in the dark",
        "the pavement came up to meet me",
        "so down I went, right there in the shop",
        "landed up on the grass with my legs in the air",
        "I put my hand out to save myself and my wrist is blue",
        "the kerb won, my hip is black and blue",
        "went over on the ice outside the post office",
    ],
    Sign.FAINT: [
        "my eyes rolled and I was gone, my sister says",
        "woke up face down in the flower bed",
        "one second at the sink, the next on the lino with a nurse over me",
        "husband says I was out for two minutes",
        "lost ten minutes in the shower, came round with the water cold",
        "everything went grey and then there was a paramedic",
        "my wife found me on the bathroom floor, I don't know a thing about it",
        "I don't remember getting to the floor",
        "woke up on the bathroom floor and don't know how I got there",
        "came to on the kitchen floor with the tap running",
        "next thing I was looking up at the ceiling",
        "the bus driver was patting my cheek when I opened my eyes on the pavement",
        "I don't recall a thing between the sink and the ambulance",
        "no idea how long I'd been lying there",
        "they had to bring me round at the bowls club",
    ],
    Sign.STROKE: [
        "couldn't sign my name this morning, hand went its own way",
        "the wife says I sound drunk and I've had nothing",
        "tried to say hello and it came out as noises",
        "my right foot keeps catching and I veer into the wall",
        "I can't do up my buttons with the left hand any more, since noon",
        "my son says my face looks lopsided",
        "words won't come out right since this morning",
        "my mouth won't work properly on one side",
        "I keep dropping cups with the right hand",
        "my hand won't hold the pen since breakfast",
        "the left hand keeps letting go of things",
        "the cup slid out of my right hand three times",
        "I ask for the jam and say the wrong words",
        "I asked for the spoon when I meant the salt",
        "can't find the names of things today",
        "words come out all mush since this morning",
        "my daughter asked if I'd been drinking, not a drop",
        "my left arm floats down on its own",
        "tea runs out of the left corner of my mouth",
        "the letters on the page might as well be Greek",
        "feels like somebody else's arm",
    ],
    Sign.VISION_LOSS: [
        "I see two of everything since lunch",
        "a big black blob in front of my right eye",
        "half my sight has gone",
        "lost the sight in one eye for ten minutes",
        "my eye has gone black",
        "can't see anything out of my left eye",
        "one eye has gone dark",
        "a curtain has come down across my left eye",
        "a shade over half of my right eye since noon",
        "covered my right eye and the left is all black",
        "I only see the left half of the telly",
        "everyone has two heads today and it goes away if I cover one eye",
        "the middle has gone missing out of everything",
    ],
    Sign.THUNDERCLAP_HEADACHE: [
        "something burst in my head and the pain is awful",
        "worst pain in my head ever, hit me in one second",
        "headache came on like a bomb",
        "it was as if somebody took a hammer to the back of my head",
        "I never get headaches but this was like being hit with a shovel",
    ],
    Sign.CAUDA_EQUINA: [
        "back pain and I can't pee",
        "can't feel myself sit down on the loo",
        "no feeling when I wipe myself",
        "I can't tell when I need the toilet and my legs are numb",
        "my bowels opened in the chair and I didn't know",
        "I wet myself without any warning and my back is bad",
        "wet myself and never felt it coming",
        "my bladder lets go without any warning since my back went",
        "can't feel the paper when I wipe",
        "numb when I wipe",
        "can't feel my bottom on the seat",
    ],
    Sign.HEAD_INJURY: [
        "tin fell on my head from the top cupboard",
        "walloped my head on the boot lid, headache since",
        "stood up under the shelf and got a right crack on the head",
        "hit my head on the tap and I feel dazed",
        "the car boot came down on my head and I feel sick",
        "bumped my head on the cupboard and I've been sick twice",
        "cracked my forehead against the beam and I'm ever so sleepy",
        "caught my head on the shelf and keep nodding off",
        "a lump on my forehead from the car boot",
    ],
    Sign.HYPO: [
        "insulin too early, legs like string and sweaty, eating jelly babies",
        "shaking and hungry, needle says 3.0",
        "glucose down at 2.8, had to sit down",
        "blood sugar 58 and sweating",
        "reading of 3.2 and my hands are shaking",
        "meter says 2.9 and I've got the shakes",
        "I'm diabetic. came over all of a tremble, 3.1, had some juice",
        "sugar's 2.4 and I keep drifting off",
    ],
    Sign.ABUSE: [
        "I don't like to be alone with him, he gets rough",
        "he grabbed my wrist so hard it's black",
        "my partner hides my car keys so I can't go out",
        "he threw a plate at me",
        "I lock my bedroom door because of my grandson",
        "she locks me in the bedroom",
        "I'm afraid of my carer",
        "he won't let me have my own money",
        "my son took my phone away",
        "my nephew takes my pension every week",
        "she shoved me on the stairs",
        "my husband pushed me against the wall",
        "my son keeps my bank card and I have to ask",
        "he gives me a shove when the dinner is late",
        "I keep out of her way when she's been drinking",
        "I sleep in the car until he's asleep",
        "the black eye is from my brother",
        "she took my walking frame away",
        "he says he'll break my arm if I tell",
        "I'm frightened of when he comes home",
        "my daughter shoved me against the wall",
        "he took my phone off me so I couldn't ring",
    ],
    Sign.SELF_HARM: [
        "there's no reason to wake up tomorrow",
        "thinking about walking into the sea",
        "I've had enough of being alive",
        "I'd be better off under the ground",
        "I've been counting my tablets to see if there are enough",
        "I've written the letters and sorted the will, it's time",
        "nobody would miss me",
        "I go to bed hoping not to wake",
        "looked up how many tablets it would take",
        "thought how quick it would be",
        "I cut my arm on purpose last night",
        "drive the car into a tree is what I think about",
        "wouldn't bother me if I didn't wake",
        "my wife is two years gone and I'm going to her soon",
        "sat with the rifle across my knees again",
    ],
    Sign.BREATHLESS_REST: [
        "gulping for air on the sofa",
        "can't finish a sentence",
        "had to sleep sitting up, can't breathe lying flat",
        "I can't get enough air sitting here",
        "only way I can get any air in is leaning on the table",
        "three words then I'm out",
        "it's like breathing through a straw and I'm in my chair",
        "my calf is swollen and now I'm out of breath",
    ],
    Sign.BREATHLESS_EFFORT: [
        "making the bed leaves me gasping, new this week",
        "have to stop halfway up the stairs now, never did before",
        "hanging on the gate for breath these days",
        "can't talk and walk any more",
        "minutes on the bench before I could speak after the bins, this last week",
    ],
    Sign.DIZZINESS: [
        "my head swims when I stand up",
        "I feel like I'm on a ship",
        "had to grab the worktop, everything was moving",
        "the room spins when I turn over in bed",
        "the hall keeps tilting when I stand",
        "the floor's like a trampoline since the new tablets",
        "I hold the furniture all the way to the loo",
        "like walking on a boat",
        "waiting for the room to settle every time I get up",
    ],
    Sign.ANKLE_SWELLING: [
        "my feet have swollen so I can't get my slippers on",
        "socks leave deep rings round both ankles",
        "my thumb leaves a dent that stays in both shins",
        "shoes won't fasten over my feet",
        "feet like loaves this morning",
        "both my ankles have disappeared",
    ],
    Sign.HOT_JOINT: [
        "thumb is like a hot sausage, can't bend it",
        "my elbow is red, hot and fat",
        "my wrist has gone shiny, scarlet and fat",
        "the knuckle is twice the size and red",
    ],
    Sign.CALF_CLOT: [
        "left calf is tight and swollen",
        "back of my leg is hot and hard since the flight",
        "one leg is twice the other and warm",
        "38 cm round the left calf and 34 round the right",
    ],
    Sign.CHEST_PAIN: [
        "my jaw and left arm ache and I'm sweating",
        "squeezing behind the breastbone when I carry shopping",
        "indigestion that goes down my arm",
        "tight band round my chest",
        "a weight on my chest",
        "somebody is standing on me with both feet",
        "chess pain since I got up",
        "it's wedged dead centre and creeping up my neck",
    ],
}

GRAVER_TOGETHER = [
    ("bumped my head on the cupboard and I've been sick twice", Sign.HEAD_INJURY),
    ("cracked my forehead against the beam and I'm ever so sleepy", Sign.HEAD_INJURY),
    ("sugar's 2.4 and I keep drifting off", Sign.HYPO),
    ("my calf is swollen and now I'm out of breath", Sign.BREATHLESS_REST),
    ("ended up on the floor, no idea how", Sign.FAINT),
]


@pytest.mark.parametrize(
    ("sign", "text"), [(sign, text) for sign, texts in TOLD_BY_EFFECTS.items() for text in texts]
)
def test_a_sign_told_by_its_effects_is_heard_by_the_lexicon(reader, sign, text):
    reading = reader.read(text)

    assert reading.level is not TextLevel.NONE
    assert sign in reading.signs


@pytest.mark.parametrize(("text", "sign"), GRAVER_TOGETHER)
def test_two_signs_that_are_graver_together_are_an_emergency(reader, text, sign):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert sign in reading.signs


@pytest.mark.parametrize(
    "text", ["chest pain gone down my left arm", "chest pain gone into my jaw"]
)
def test_a_pain_that_moves_on_is_not_over(reader, text):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert Sign.CHEST_PAIN in reading.signs


@pytest.mark.parametrize(
    "text", ["chest pain gone down a lot, nothing now", "had chest pain but it's gone now"]
)
def test_a_pain_that_went_is_over(reader, text):
    assert Sign.CHEST_DISCOMFORT_GONE in reader.read(text).signs


def test_a_likeness_supposes_nothing(reader):
    reading = reader.read("it was as if somebody took a hammer to the back of my head")

    assert Sign.THUNDERCLAP_HEADACHE in reading.signs


def test_a_supposed_faint_is_still_supposed(reader):
    assert reader.read("what happens if somebody faints in class?").level is TextLevel.NONE


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("my right hand will not move", Sign.STROKE),
        ("the words will not come this morning", Sign.STROKE),
        ("my left arm will not lift", Sign.STROKE),
    ],
)
def test_will_not_reads_as_wont(reader, text, sign):
    assert sign in reader.read(text).signs
