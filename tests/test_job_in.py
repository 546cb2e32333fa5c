"""job.toml: every key, its default, and what a slip does."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import job_texts
import pytest

from drainward.errors import InputError
from drainward.job import Crew, Fittings, Framing, Instrument, Job, Pattern, Water
from drainward.job.job_in import LOCAL_KEYS, LOCAL_LISTS, read_job
from drainward.job.materials import Costs, Materials, Mortar, Site
from drainward.rules import load_rules
from drainward.rules.row import LocalRow

INCH = 0.0254


def read(tmp_path: Path, text: str) -> tuple[Job, list[str]]:
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    job, problems = read_job(tmp_path)
    return job, [str(problem) for problem in problems]


def test_the_whole_file(tmp_path: Path) -> None:
    job, problems = read(tmp_path, job_texts.JOB)
    assert problems == []
    assert (job.name, job.risk) == ("Maple Court", 0.05)
    assert (job.fall_base, job.pond_counts) == (pytest.approx(12 * INCH), pytest.approx(INCH / 16))
    assert job.crews == (Crew(id="A", name="Ground floor", people=3),)
    level = Instrument(id="L24", name="Digital level, 24 in", length=0.6096, u=0.000396875, u_slope=0.0005)
    assert job.instruments["L24"] == level
    assert job.rules.local[0]["high"] == "1/32 in"
    assert job.materials.mortar == Mortar(bag_mass=60 * 0.45359237, pot_life=2700.0)
    assert job.materials.model_copy(update={"mortar": Mortar()}) == Materials()


def test_materials_and_site(tmp_path: Path) -> None:
    mortar = 'activation_energy = "33.5 kJ/mol"\ndensity = "2.7 kg/L"\nreference_temperature = "68 °F"\n'
    rest = '[materials.costs]\nbag = 21\n[site]\nspread = "9 °F"\ntime_zone = "America/Chicago"\n'
    job, problems = read(tmp_path, f'name = "J"\n[materials.mortar]\n{mortar}{rest}')
    assert problems == []
    read_back = job.materials.mortar
    assert (read_back.activation_energy, read_back.density, read_back.reference_temperature) == (33500, 2700, 20)
    assert (job.materials.costs, job.site.spread) == (Costs(bag=21), 5.0)


def test_a_time_by_the_clock_on_the_wall_is_that_of_the_site() -> None:
    wall = datetime(2026, 3, 7, 12, 0)  # noqa: DTZ001
    chicago = Site(time_zone="America/Chicago")
    assert chicago.utc(wall) == datetime(2026, 3, 7, 18, 0, tzinfo=UTC)
    assert chicago.utc(wall + timedelta(days=1)) == datetime(2026, 3, 8, 17, 0, tzinfo=UTC), "summer time begins"
    assert chicago.utc(wall.replace(tzinfo=UTC)) == wall.replace(tzinfo=UTC)


def test_what_hangs_on_the_walls_and_the_wood_behind(tmp_path: Path) -> None:
    table = 'seat = "left"\ngrab_bars = ["back", "right"]\ngrab_bar_height = "34-1/2 in"\nopen_behind = ["back"]\n'
    wood = 'species = "hem-fir"\nscrew_size = "#12"\nscrew_length = "2-1/2 in"\n'
    job, problems = read(tmp_path, f'name = "J"\n[fittings]\n{table}[framing]\n{wood}')
    assert problems == []
    height = job.fittings.grab_bar_height
    assert height == pytest.approx(34.5 * INCH)
    told = Fittings(seat="left", grab_bars=("back", "right"), grab_bar_height=height, open_behind=("back",))
    assert job.fittings == told
    assert (job.framing.species, job.framing.screw_size) == ("hem-fir", "#12")
    assert job.framing.screw_length == pytest.approx(2.5 * INCH) and job.framing.depth == Framing().depth


def test_a_name_is_enough(tmp_path: Path) -> None:
    job, problems = read(tmp_path, 'name = "J"')
    assert (job, problems) == (Job(name="J"), [])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", 'job.toml, field "name": "" is missing'),
        ("name = 5", 'job.toml, line 1, field "name": "5" is not understood'),
        (
            'name = "J"\nrisk = 0.7',
            'line 2, field "risk": "0.7" is too much; expected less than 0.5 in SI units; until it',
        ),
        ('name = "J"\nrisk = "low"', 'line 2, field "risk": "low" is not understood'),
        ('name = "J"\nfall_base = 12', 'line 2, field "fall_base": "12" is a bare number'),
        ('name = "J"\nfall_base = "12"', 'line 2, field "fall_base": "12" has no unit'),
        ('name = "J"\npond_counts = "0"', 'line 2, field "pond_counts": "0" is too little'),
        ('name = "J"\nrisks = 0.1', 'line 2, field "risks": "risks" is no key here (did you mean "risk"?)'),
        (
            'name = "J"\n[rules]\nshower = "rollin"',
            'line 3, field "rules.shower": "rollin" is not understood; expected',
        ),
        ('name = "J"\n[rules]\nuse = "ada"', 'line 3, field "rules.use": "ada" is not understood'),
        ('name = "J"\n[rules]\nuses = []', 'field "rules.uses": "uses" is no key here (did you mean "use"?)'),
        (
            'name = "J"\n[fittings]\nseat = "back"',
            'line 3, field "fittings.seat": "back" is not understood; expected',
        ),
        ('name = "J"\n[fittings]\ngrab_bar_height = 34', 'field "fittings.grab_bar_height": "34" is a bare number'),
        ('name = "J"\n[fittings]\nseats = "left"', 'is no key here (did you mean "seat"?); expected seat, controls'),
        (
            'name = "J"\n[framing]\nscrew_size = "#11"',
            "line 3, field \"framing.screw_size\": \"#11\" is not understood; expected '#6', '#8'",
        ),
        (
            'name = "J"\n[framing]\nspecies = "oak"',
            'field "framing.species": "oak" is not understood; expected \'south',
        ),
        ('name = "J"\nrules = 3', 'line 2, field "rules": "3" is no table; expected [rules]'),
        ('name = "J"\n[crews.A]\npeople = 0', 'line 3, field "crews.A.people": "0" is too little'),
        ('name = "J"\n[crews.A]\nid = "B"', 'field "crews.A.id": "B" is no key here; the id is the table\'s name, A'),
        ('name = "J"\n[crews.""]\npeople = 2', 'line 2, field "crews.": "" is no id of its own'),
        ('name = "J"\n[crews]\nA = 3', 'line 3, field "crews.A": "3" is no table; expected [crews.A]'),
        ('name = "J"\n[instruments.L]\nu = 0.4', 'line 3, field "instruments.L.u": "0.4" is a bare number'),
        (
            'name = "J"\n[instruments.L]\nuslope = "1 %"',
            'is no key here (did you mean "u_slope"?); expected id, name, length',
        ),
        ('name = "J"\n[[rules.local]]\nid = "x"', 'line 2, field "rules.local[1].what": "" is missing'),
        ('name = "J"\n[[rules.local]]\nlow = 3', 'line 3, field "rules.local[1].low": "3" is not in quotation marks'),
        ('name = "J"\n[[rules.local]]\nlwo = "3 mm"', 'line 3, field "rules.local[1].lwo": "lwo" is no key here'),
        ('name = "J"\n[rules]\nlocal = [3]', 'line 3, field "rules.local[1]": "3" is no table'),
        (
            'name = "J"\n[water]\nflow = 2.5',
            '"2.5" is a bare number; write it with its unit, in quotation marks; "2.5" alone',
        ),
        ('name = "J"\n[water]\nover = 60', 'field "water.over": "60" is a bare number; write it with its unit'),
        ('name = "J"\n[water]\nover = "2 h"', 'line 3, field "water.over": "2 h" is too much; expected 3600 in SI'),
        ('name = "J"\n[water]\nover = "1:00"', 'field "water.over": "1:00" may be hours, minutes or seconds'),
        ('name = "J"\n[water]\npoured = "0 gal"', 'line 3, field "water.poured": "0 gal" is too little'),
        ('name = "J"\n[water]\npoured = "2 m3"', 'line 3, field "water.poured": "2 m3" is too much'),
        (
            'name = "J"\n[water]\nhow = "bucket"',
            "field \"water.how\": \"bucket\" is not understood; expected 'over the floor', 'at a point' or 'shower'",
        ),
        ('name = "J"\n[water]\ntemperature = "68"', 'line 3, field "water.temperature": "68" has no unit'),
        ('name = "J"\n[water]\ntemperature = "0 °C"', 'line 3, field "water.temperature": "0 °C" is too little'),
        (
            'name = "J"\n[water]\ncontact_angle = [75, 30]',
            'line 3, field "water.contact_angle": "water.contact_angle" is not usable: expected two angles, receding',
        ),
        ('name = "J"\n[water]\ncontact_angle = [30]', 'line 3, field "water.contact_angle[2]": "" is missing'),
        (
            'name = "J"\n[water]\ncontact_angle = ["x", 2]',
            'line 3, field "water.contact_angle[1]": "x" is not understood',
        ),
        (
            'name = "J"\n[water]\npour = "1 gal"',
            '"pour" is no key here (did you mean "poured"?); expected poured, over',
        ),
        ('name = "J"\nwater = "1 gal"', 'line 2, field "water": "1 gal" is no table; expected [water]'),
        (
            'name = "J"\n[materials]\nmortar = { bag = "60 lb" }',
            'line 3, field "materials.mortar.bag": "bag" is no key here',
        ),
        (
            'name = "J"\n[materials]\nsealant = {}',
            '"sealant" is no key here; expected mortar, adhesive',
        ),
        (
            'name = "J"\n[materials]\nmortar = 3',
            '"3" is no table; expected [materials.mortar]',
        ),
        (
            'name = "J"\n[materials.mortar]\nthinnest = "1.5 in"\nthickest = "1 in"',
            'line 2, field "materials.mortar": "materials.mortar" is not usable: thinnest is not less than thickest',
        ),
        (
            'name = "J"\n[materials.mortar]\nbag_mass = "50"',
            'line 3, field "materials.mortar.bag_mass": "50" has no unit; write which one it is: lb, oz',
        ),
        (
            'name = "J"\n[materials.lumber]\nsections = ["2x3"]',
            "field \"materials.lumber.sections[1]\": \"2x3\" is not understood; expected '2x4', '2x6' or '4x4'",
        ),
        ('name = "J"\n[materials.costs]\nbag = "18 lb"', 'field "materials.costs.bag": "18 lb" is not understood'),
        ('name = "J"\n[site]\ntemperature = "70"', 'line 3, field "site.temperature": "70" has no unit'),
        ('name = "J"\n[site]\ntime_zone = "Chicago"', "expected a name of the tz database, such as America/Chicago"),
        ('name = "J"\nkits = []', 'line 2, field "kits": "[]" is no table; expected [kits]'),
        (
            'name = "J"\n[kits]\nbrace = 3',
            'line 3, field "kits.brace": "brace" is no key here (did you mean "braces"?)',
        ),
        ('name = "J"\n[kits]\nbraces = 0', 'line 3, field "kits.braces": "0" is too little; expected more than 0'),
        ('name = "J"\n[calendar]\nhours = "7-15"', "expected two times of day such as 7:00-15:30"),
        ('name = "J"\n[calendar]\nhours = "15:00-7:00"', "ends before it begins; expected such as 7:00-15:30"),
        ('name = "J"\n[calendar]\nhours = "7:00-25:00"', "holds a time that no clock shows"),
        ('name = "J"\n[calendar]\nworks = ["monday"]', 'field "calendar.works[1]": "monday" is not understood'),
        ('name = "J"\n[calendar]\nblock = 4', 'line 3, field "calendar.block": "4" is a bare number'),
        (
            'name = "J"\n[calendar]\nblock = "1 h"\nbrace = "1 h"',
            'line 3, field "calendar.block": "1 h" leaves nothing for bed and set; until it is mended block, dry_set',
        ),
        ('name = "J"\n[crews.A]\npeople = 2\nhours = "7"', 'line 4, field "crews.A.hours"'),
        ('name = "J"\n[inspectors.town]\nworks = ["tue"]', 'field "inspectors.town.hours": "" is missing'),
        ('name = "J"\n[corrections]\n105 = 3', 'line 3, field "corrections.105": "3" is a bare number'),
        ('name = "J"\n[corrections]\n105 = "30 h"', "is out of reach; expected 0 to 10 h: one shift"),
    ],
)
def test_a_slip_leaves_its_default_and_says_so(tmp_path: Path, text: str, message: str) -> None:
    job, problems = read(tmp_path, text)
    assert message in "\n".join(problems)
    assert job == Job(name="J" if '"J"' in text else tmp_path.name)


def test_water(tmp_path: Path) -> None:
    text = 'poured = "2 gal"\nover = "1 min 50 s"\nhow = "shower"\nflow = "2 gpm"\ntemperature = "113 °F"\n'
    job, problems = read(tmp_path, f'name = "J"\n[water]\n{text}contact_angle = [20, 60.5]\n')
    assert problems == []
    gallon = 3.785411784e-3  # NIST SP 811 (2008), appendix B.8
    assert (job.water.poured, job.water.over, job.water.how) == (pytest.approx(2 * gallon), 110.0, Pattern.SHOWER)
    assert (job.water.flow, job.water.temperature) == (pytest.approx(gallon / 30), pytest.approx(45.0))
    assert job.water.contact_angle == (20.0, 60.5)


def test_one_wrong_key_of_the_water_leaves_the_others(tmp_path: Path) -> None:
    job, problems = read(tmp_path, 'name = "J"\n[water]\npoured = "2 L"\nover = "soon"\ncontact_angle = [0, 4]')
    assert job.water == Water(poured=0.002)
    assert len(problems) == 2
    assert all(problem.endswith("; until it is mended the default stands") for problem in problems)


def test_two_ids_that_differ_by_capitals_are_not_guessed(tmp_path: Path) -> None:
    job, problems = read(tmp_path, 'name = "J"\n[instruments.L]\n[instruments.l]\n')
    assert list(job.instruments) == ["L"]
    assert problems[0].startswith('job.toml, line 3, field "instruments.l": "l" is no id of its own')


def test_a_message_steers_no_terminal(tmp_path: Path) -> None:
    _, problems = read(tmp_path, 'name = "J"\nrisk = "\\u001b[31m' + "x" * 500 + '"')
    assert problems[0].isprintable()
    assert len(problems[0]) < 250


def test_other_instruments_stay(tmp_path: Path) -> None:
    job, problems = read(tmp_path, job_texts.JOB.replace('u = "0.05 mm"', "u = 5"))
    assert list(job.instruments) == ["L24"]
    assert len(problems) == 1


@pytest.mark.parametrize(
    "content", [b"name = ", b"\0", b"\xff\xfe\x00", b"a = 1\na = 2", b"[[[[", b"a = " + b"[" * 9999]
)
def test_no_toml_is_no_job(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "job.toml").write_bytes(content)
    with pytest.raises(InputError, match=r"job\.toml.* is not TOML"):
        read_job(tmp_path)


def test_missing_file_is_no_job(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"job\.toml: .*while opening the file"):
        read_job(tmp_path)


def test_local_rules_are_what_the_rule_book_takes(tmp_path: Path) -> None:
    assert set(LocalRow.model_fields) == set(LOCAL_KEYS)
    assert {key for key, field in LocalRow.model_fields.items() if "tuple" in str(field.annotation)} == set(LOCAL_LISTS)
    text = job_texts.JOB.replace('high = "1/32 in"', 'high = "1/32 in"\nreplaces = "practice/pond"')
    job, problems = read(tmp_path, text)
    assert problems == []
    assert job.rules.local[0]["replaces"] == ["practice/pond"]
    load_rules(job.rules)


def test_crews_hours_kits_and_inspectors_are_read(tmp_path: Path) -> None:
    job, problems = read(
        tmp_path,
        """name = "J"
[crews.A]
people = 3
skills = ["core"]
hours = "6:30 - 15:00"
off = [2026-03-20]
day = 1200
[calendar]
block = "90 min"
dry_set = "20 min"
brace = "20 min"
holidays = [2026-04-03]
[kits]
braces = 8
[inspectors.town]
works = ["tue", "thu"]
hours = "9:00-12:00"
[corrections]
105 = "0"
""",
    )
    assert problems == []
    (crew,) = job.crews
    assert (crew.skills, crew.hours, crew.off) == (("core",), (time(6, 30), time(15)), (date(2026, 3, 20),))
    assert (job.calendar.block, job.calendar.dry_set, job.kits.braces) == (5400.0, 1200.0, 8)
    assert [(one.id, one.name, one.works) for one in job.inspectors] == [("town", "town", ("tue", "thu"))]
    assert job.corrections == {"105": 0.0}
