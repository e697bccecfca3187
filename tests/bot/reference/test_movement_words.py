"""How a movement's dials are said."""

from bot.reference.catalogue import load_movements
from bot.reference.movement_words import Movements


def test_a_dial_that_was_turned_back_is_said_though_its_plain_setting_goes_without_saying():
    catalogue, words = load_movements()
    movements = Movements(catalogue, words)
    unsaid = []
    for rung in catalogue.by_id.values():
        for dial, (plain, *others) in rung.dials.items():
            if not others:
                continue
            turned = others[-1]
            assert turned != plain
            before = movements.spoken(rung.id, ((dial, turned),)).setting
            now = movements.spoken(rung.id, (), also=(dial,)).setting
            if not now or now == before:
                unsaid.append((rung.id, dial, before, now))
    assert unsaid == []


def test_a_plain_setting_goes_without_saying_elsewhere():
    catalogue, words = load_movements()
    spoken = Movements(catalogue, words).spoken("hinge_hands_slide", ())
    assert spoken.setting == ""
