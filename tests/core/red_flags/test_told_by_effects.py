"""Signs told by their effects or in passing, and the ordinary talk that comes near them.

The texts are our own; what each should be read as is common practice: who cannot say how they came
to lie on the floor has fainted until shown otherwise, and so on through the signs.
"""

import pytest

from core.vocabulary import Sign, TextLevel

TOLD_BY_EFFECTS = {
    Sign.FALL: [
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
        "woke up on the bathroom floor and don't know how I got there",
        "came to on the kitchen floor with the tap running",
        "next thing I was looking up at the ceiling",
        "the bus driver was patting my cheek when I opened my eyes on the pavement",
        "I don't recall a thing between the sink and the ambulance",
        "no idea how long I'd been lying there",
        "they had to bring me round at the bowls club",
    ],
    Sign.STROKE: [
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
        "one eye has gone dark",
        "a curtain has come down across my left eye",
        "a shade over half of my right eye since noon",
        "covered my right eye and the left is all black",
        "I only see the left half of the telly",
        "everyone has two heads today and it goes away if I cover one eye",
        "the middle has gone missing out of everything",
    ],
    Sign.THUNDERCLAP_HEADACHE: [
        "it was as if somebody took a hammer to the back of my head",
        "I never get headaches but this was like being hit with a shovel",
    ],
    Sign.CAUDA_EQUINA: [
        "wet myself and never felt it coming",
        "my bladder lets go without any warning since my back went",
        "can't feel the paper when I wipe",
        "numb when I wipe",
        "can't feel my bottom on the seat",
    ],
    Sign.HEAD_INJURY: [
        "bumped my head on the cupboard and I've been sick twice",
        "cracked my forehead against the beam and I'm ever so sleepy",
        "caught my head on the shelf and keep nodding off",
        "a lump on my forehead from the car boot",
    ],
    Sign.HYPO: [
        "meter says 2.9 and I've got the shakes",
        "I'm diabetic. came over all of a tremble, 3.1, had some juice",
        "sugar's 2.4 and I keep drifting off",
    ],
    Sign.ABUSE: [
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
        "only way I can get any air in is leaning on the table",
        "three words then I'm out",
        "it's like breathing through a straw and I'm in my chair",
        "my calf is swollen and now I'm out of breath",
    ],
    Sign.BREATHLESS_EFFORT: [
        "hanging on the gate for breath these days",
        "can't talk and walk any more",
        "minutes on the bench before I could speak after the bins, this last week",
    ],
    Sign.DIZZINESS: [
        "the hall keeps tilting when I stand",
        "the floor's like a trampoline since the new tablets",
        "I hold the furniture all the way to the loo",
        "like walking on a boat",
        "waiting for the room to settle every time I get up",
    ],
    Sign.ANKLE_SWELLING: [
        "my thumb leaves a dent that stays in both shins",
        "shoes won't fasten over my feet",
        "feet like loaves this morning",
        "both my ankles have disappeared",
    ],
    Sign.HOT_JOINT: [
        "my wrist has gone shiny, scarlet and fat",
        "the knuckle is twice the size and red",
    ],
    Sign.CALF_CLOT: [
        "one leg is twice the other and warm",
        "38 cm round the left calf and 34 round the right",
    ],
    Sign.CHEST_PAIN: [
        "somebody is standing on me with both feet",
        "chess pain since I got up",
        "it's wedged dead centre and creeping up my neck",
    ],
}

HARMLESS_BESIDE_THEM = [
    "ended up on the sofa with a cuppa after class",
    "I got down on the carpet to do the stretches and got back up by myself",
    "had to crawl through the tunnel with the grandchildren",
    "my son got me up at six for the market",
    "the ice on the pond won't last",
    "the rug slid out of the van and we carried it in",
    "woke up on the sofa at nine with the telly on",
    "woke up on the right side of the bed",
    "next thing I was looking at new bands in the shop",
    "no idea how I got the time right, but I did",
    "nothing missing between the two videos, all good",
    "the words came out small on my phone, can you send a bigger font",
    "asked for the big band when I booked",
    "the dog dropped the ball three times",
    "my left hand is the better one for the bands",
    "drew the curtains across the window at four",
    "one eye on the telly and one on your video",
    "the middle of the video has gone missing",
    "hit the nail with a hammer, shelf is up",
    "bumped into Jean in the shop and had a coffee",
    "banged the cupboard door again",
    "sugar in my tea is down to one, 2.5 kg dumbbells now",
    "diabetic clinic on Tuesday, numbers are good",
    "my son keeps my spare key",
    "he gives me a hug when I come home",
    "my husband took the phone to be fixed",
    "kept out of the way of the builders",
    "he says he'll break the record",
    "looked up how many steps it is to the church",
    "how many of the stretches should I do",
    "cut my arm exercises down to two",
    "drive the car into the garage every night",
    "going to my daughter's this weekend",
    "stood at the top of the hill and thought of you",
    "bridge club moved, rope for the swing is bought",
    "we walk and talk every Tuesday",
    "hung the washing on the fence",
    "three words: I love it",
    "the kitchen is going to be tiled",
    "the hall is going well",
    "my shoes won't fasten as the strap is broken",
    "bread rose to twice the size",
    "loaves in the oven, feet up",
    "38 cm round the waist of the little skirt",
    "we played chess and the pane in the window is fixed",
    "elbows on the table, good chat",
    "sat with my grandson across my knees",
    "the weighted vest is fine",
    "he twists my arm to join every Friday",
    "gone low sugar on jam",
    "went over to my sister's",
    "hit the deck with the sander",
    "come round the back on Thursday",
]

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


@pytest.mark.parametrize("text", HARMLESS_BESIDE_THEM)
def test_ordinary_talk_in_the_same_words_is_no_sign(reader, text):
    assert reader.read(text).level is TextLevel.NONE


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
