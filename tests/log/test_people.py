import pytest

from voxlog.log.people import People, people_in, people_settings


@pytest.mark.parametrize(
    ("people", "settings"),
    [
        (People(), {}),
        (People(("S-07",)), {"subjects": ["S-07"]}),
        (
            People(("S-07", "S-09"), {"attendant": "C-12"}),
            {"subjects": ["S-07", "S-09"], "crew": {"attendant": "C-12"}},
        ),
    ],
)
def test_people_and_settings_are_the_same(people: People, settings: dict[str, object]) -> None:
    assert people_settings(people) == settings
    assert people_in(settings | {"positions": {"1": "attendant"}}) == people


@pytest.mark.parametrize("settings", [{"subjects": "S-07"}, {"crew": []}, {"crew": {"a": 3}}])
def test_settings_of_another_form_are_refused(settings: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="not codes"):
        people_in(settings)
