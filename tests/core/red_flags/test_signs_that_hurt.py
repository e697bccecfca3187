"""High sugar, deadly infections, somebody lifeless, despair: many voices, and look-alikes."""

import pytest

from core.readiness.told_numbers import unit_matters
from core.red_flags.reader import Writer
from core.vocabulary import Sign, TextLevel

HIGH = {Sign.SUGAR_HIGH, Sign.SUGAR_ILL, Sign.KETO_HIGH}
INFECTION = {Sign.SEPSIS, Sign.MENINGITIS, Sign.CHEMO_FEVER}
LOUD = {TextLevel.EMERGENCY, TextLevel.URGENT}

HIGH_SUGAR = """my sugar is 24 and I am throwing up and very thirsty
finger prick says 22
it just shows HI
my meter reads HI
sugar 18.5 this morning
blood sugar is 410 today
glucose at 19 and I keep being sick
bg 21.3, tummy pain
sugars are 26 and I can't keep anything down
my sugar's thirty one and I feel drowsy
meter says 19 and I can't keep water down
the sensor says 17.9
my bsl was 23 an hour ago
blood glucose 380 mg/dl and vomiting
I'm 22 mmol and feel ill
sugar reading of 20, breathing fast
sugar was 15 then 18 now
ketones 3.4 and sugar 21
ketones are 3++
blood ketones 4.1
breath smells of pear drops and I can't stop drinking
the keto strip went dark purple
her sugar is 28 and she is muddled, she is here beside me
sugar through the roof and I'm vomiting
monitor just says HIGH
twenty two on my glucose meter
my sugar is 29""".splitlines()

NO_HIGH_SUGAR = """Hi, my sugar is fine
two sugars in my tea
A1c was 7.2 %
my hba1c is 58
sugar 6.4 before breakfast
blood sugar 110 mg/dl, all good
sugar was 5.8, off for my walk
walked 400 metres today
did 24 reps and cut out sugar
I put 20 grams of sugar in the cake
the parking meter says 20
my sister says hi
sugar below 14 is the target
it says hi on the card
cut my sugar for 21 days
I keep my sugar under 15
no sugar for 30 days
keto diet, strip a bit pink
ate pear drops at the pictures
two plus one sets done
sick of diet talk
sleepy after lunch, reading 8
the electric meter says 240
bought 25 bags of sugar
my sugar is 7 and my pulse 64
sugar snap peas, 30 of them""".splitlines()

INFECTIONS = """I have a fever of 39 and I'm all confused
38.9 and my neck is stiff
fever and I shiver so the bed shakes
temperature of 39 and my skin has gone blotchy
chemo last week and now 38.1
burning up and breathing fast
he's got a high temperature and is talking rubbish
chest infection and my lips are blue
water infection, now I can't stop shaking
high temp and a rash all over
fever, hallucinating since tea time
can't put my chin to my chest and I'm burning hot
neck won't bend, head splitting, fever
light hurts my eyes and I've a fever
spots that don't fade under a glass
I'm on chemo and I feel shivery
on the cancer pills, hot and cold
had chemotherapy Tuesday, temp 37.8
picc line is in and I have the chills
kidney infection, teeth chattering, not making sense
pneumonia they said, now slurred and drowsy
feverish and mottled legs
fever and shaking chills
I've got a fever and I feel like I'm dying
urine infection, no pee all day
40 degrees and panting
a temperature and a stiff neck""".splitlines()

NO_INFECTION = """stiff neck from the pillow
gym lights too bright
rash from the band
hot flush again
shivery in the pool
treatment ended in 2019, 37.2
hot room and I was out of breath
cup final fever here
hay fever and a rash
shivered, heater was off
blotchy from sun
water infection cleared last month
neck is stiff since the rows
confused by the app
the chemo ward volunteer bake was fun
mixed up left and right in the drill
my lips are blue from the blueberries
short of breath after hill, fine now
cold hands, blue with cold at the match
the room temperature is 19
I was shaking with laughter
spots on my new shirt
breathing fast on the last set, soon settled
infection in the computer, virus all over
no fever, no stiff neck
my neck is stiff as a board after gardening""".splitlines()

LIFELESS = """he is not breathing
my husband isn't breathing
she's stopped breathing help
not breathing
he just dropped, no breath
grey and only gasps
no beat on dad
won't wake, makes snorts
she won't wake up and she's blue
mum is unresponsive
he has no pulse
wife here, he's on the floor, all confused
husband here, she collapsed
I can't wake him
my friend is not breathing what do I do
he's unconscious on the floor
I found her not breathing
dad won't respond and he's going blue
he's barely breathing
this is his wife, he's slumped and not making sense
daughter here, mum is all grey and clammy
she's only gasping
there's no sign of life in him
my neighbour collapsed and isn't breathing
son here, dad can't speak
he keeled over and he's talking nonsense
the man next to me stopped breathing""".splitlines()

NO_DANGER = """dead tired
the app crashed
grandpa died in May
my wife here says hello
not breathing well through my nose, bit of a cold
he isn't responding to my texts
the printer is not responding
he stops breathing in his sleep, has a cpap
too tired to wake up for the seven o'clock class
no pulse target today
my phone went blue
did a first aid course, dummy was not breathing
can't wake up before my coffee
the grandkids were on the floor playing
my dad stopped breathing in hospital years ago
in the film he was unconscious
husband is here with me for the walk
he collapsed laughing
she went down to the shop
my son is talking nonsense about football
the dog was lying on the floor
he's confused by the remote
no breath left after that hill, good one
she passed out leaflets
my hair turned blue at the salon
he snores like a train""".splitlines()

DESPAIR = """not much point carrying on is there
tell her thanks for everything, goodbye
not much point in going on
what's the point of living
I see no sense in carrying on
I don't see any point in another year
there's nothing left for me here
you won't hear from me again
goodbye everyone
tell them I'm sorry, I loved them
I won't be needing these any more
I'll be out of everyone's way for good
no reason to carry on
this is goodbye
thank you for everything and goodbye
they are better off without me
pills in a row in front of me
they'd be glad to be rid of me
it's time to say goodbye
I don't want to see another spring
look after my cat when I'm gone
said my goodbyes
better if I did not wake up
why bother living
not worth carrying on
my last message to you all
hardly worth going on""".splitlines()

NO_DESPAIR = """thanks for everything, see you Thursday
no point carrying on with this exercise
this hill kills me
dead legs
could murder a tea
no point going on about it
not much point going on a walk in this rain
goodbye for now
said goodbye to the old boiler
thanks for everything this week
not much point in going early
tell her thanks for the bands
tell them I'm running late
no point keeping the old band
goodbye and see you Monday
not much point carrying on with squats
you'll hear from me tomorrow
time to say goodbye to my old shoes
thank you for everything, lovely session
no point in it if it rains
by the time you read this I will be at the pool
there's nothing left in the biscuit tin
I give up on this app
ignore what I sent, wrong chat
is there a point to the warm up
no way out of the car park""".splitlines()


@pytest.mark.parametrize("text", HIGH_SUGAR)
def test_a_high_sugar_is_loud_and_never_a_low_one(whole_reader, text):
    reading = whole_reader.read(text)

    assert reading.level in {TextLevel.EMERGENCY, TextLevel.URGENT}
    assert HIGH & set(reading.signs)
    assert Sign.HYPO not in reading.signs


@pytest.mark.parametrize("text", INFECTIONS)
def test_an_infection_with_a_deadly_sign_is_an_emergency(whole_reader, text):
    reading = whole_reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert INFECTION & set(reading.signs)


@pytest.mark.parametrize("text", LIFELESS)
def test_somebody_lifeless_is_an_emergency_of_another_at_once(whole_reader, text):
    reading = whole_reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert reading.for_other


@pytest.mark.parametrize("text", DESPAIR)
def test_despair_acts_at_once(whole_reader, text):
    reading = whole_reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert Sign.SELF_HARM in reading.signs


@pytest.mark.parametrize("text", [*NO_HIGH_SUGAR, *NO_INFECTION, *NO_DANGER, *NO_DESPAIR])
def test_what_only_looks_like_it_never_alerts(whole_reader, text):
    assert whole_reader.read(text).level not in LOUD


def test_the_writer_s_unit_decides(whole_reader):
    american, british = Writer(glucose_unit="mg/dL"), Writer(glucose_unit="mmol/L")

    assert Sign.HYPO in whole_reader.read("my sugar is 24", american).signs
    assert Sign.SUGAR_HIGH in whole_reader.read("my sugar is 24", british).signs


@pytest.mark.parametrize(
    ("text", "matters"), [("my sugar is 24", True), ("my sugar is 24 mmol", False)]
)
def test_a_sugar_that_is_grave_in_either_unit_is_known_as_such(whole_reader, text, matters):
    assert [unit_matters(one) for one in whole_reader.read(text).numbers] == [matters]
