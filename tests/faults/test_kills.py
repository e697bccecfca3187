"""What was acknowledged survives a SIGKILL at any moment, and so does every alert."""

from pathlib import Path

from tests.doubles.postgres import NEEDED, postgres
from tests.faults.kills import kill_often, kill_with_standby

KILLS = 30
SEED = 20260302
KILLS_BESIDE_A_STANDBY = 2


async def test_thirty_kills_lose_no_acknowledged_answer_and_no_alert(tmp_path: Path) -> None:
    result = await kill_often(tmp_path, KILLS, SEED)

    assert result.nothing_lost, result
    assert result.acknowledged > 200
    # So many at least, or the kills met too little to prove anything; runs had 38 to 82.
    assert result.flags > 25


@NEEDED
async def test_a_standby_takes_over_from_a_killed_service_and_nothing_is_lost(
    tmp_path: Path,
) -> None:
    with postgres(migrated=True) as address:
        result = await kill_with_standby(tmp_path, address, KILLS_BESIDE_A_STANDBY, SEED)

    assert result.nothing_lost, result
    assert result.acknowledged > 20
    assert len(result.takeovers) == KILLS_BESIDE_A_STANDBY
