"""From the fifth wrong key an address waits: 1 s, doubling to 60 s (judgement of this project)."""

from api.throttle import MOST_ADDRESSES, Throttle


def list_waits(count):
    throttle, now_seconds, waits = Throttle(), 1000.0, []
    for _ in range(count):
        throttle.note_failure("a", now_seconds)
        waits.append(throttle.count_wait_seconds("a", now_seconds))
        now_seconds += waits[-1]
    return waits


def test_waits_double_from_the_fifth_failure_up_to_a_minute():
    assert list_waits(13) == [0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60]


def test_wait_runs_out_and_other_addresses_do_not_wait():
    throttle = Throttle()
    for _ in range(5):
        throttle.note_failure("a", 0.0)
    assert throttle.count_wait_seconds("a", 0.75) == 0.25
    assert throttle.count_wait_seconds("a", 1.0) == 0
    assert throttle.count_wait_seconds("b", 0.0) == 0


def test_success_and_an_hour_wipe_the_slate():
    throttle = Throttle()
    for _ in range(9):
        throttle.note_failure("a", 0.0)
        throttle.note_failure("b", 0.0)
    throttle.note_success("a")
    assert throttle.count_wait_seconds("a", 0.0) == 0
    throttle.note_failure("b", 3600.0)
    assert throttle.count_wait_seconds("b", 3600.0) == 0


def test_memory_is_bounded():
    throttle = Throttle()
    for number in range(MOST_ADDRESSES + 5):
        throttle.note_failure(str(number), 0.0)
    assert len(throttle._failures) == 10_000
