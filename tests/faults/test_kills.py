"""What was acknowledged survives a SIGKILL at any moment, and so does every alert."""

from pathlib import Path

from tests.faults.kills import kill_often

KILLS = 30
SEED = 20260302


async def test_thirty_kills_lose_no_acknowledged_answer_and_no_alert(tmp_path: Path) -> None:
    result = await kill_often(tmp_path, KILLS, SEED)

    assert result.nothing_lost, result
    assert result.acknowledged > 200
    # So many at least, or the kills met too little to prove anything; runs had 38 to 82.
    assert result.flags > 25
