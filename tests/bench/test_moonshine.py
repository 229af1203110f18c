from tests.bench.moonshine import spread
from tests.bench.transcript import Word


def test_words_share_a_lines_time_by_their_letters() -> None:
    assert list(spread("Door open.", 2, 9)) == [Word(2, 6, "Door"), Word(6, 11, "open.")]
    assert list(spread("", 2, 9)) == []
