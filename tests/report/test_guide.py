"""The guide: no key of the sheet is without an entry, and what it draws is what the model says."""

import re
from html.parser import HTMLParser

import numpy as np
import pytest
from pydantic import BaseModel

from valvetrain.mechanics.rocker.linkage import closed_position, swung
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.report.drawing import Drawing, svg, text_picture
from valvetrain.report.guide.example import EXAMPLE, at_lift, lobe_motion, lobe_outline, witness_band
from valvetrain.report.guide.page import DRAWINGS, guide_page
from valvetrain.report.guide.topics import GROUPS, TOPICS, entries, found, topic_of, usual, words_known
from valvetrain.setup.schema import ROLES, sheet_model
from valvetrain.setup.tables.columns import COLUMNS, TEXT_COLUMNS


def model_in(annotation):
    """The model inside an annotation such as list[Model], or None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inside = [model_in(each) for each in getattr(annotation, "__args__", ())]
    return next((each for each in inside if each is not None), None)


def keys_of(model, section=""):
    """Every key of the sheet as "section.key"; a role's own section is the section."""
    for name, field in model.model_fields.items():
        inner = model_in(field.annotation)
        if name in ROLES and inner is not None:
            yield from keys_of(inner, section)
        elif section == "lash" and name in ROLES:
            yield "lash.wanted"
        else:
            if section:
                yield f"{section}.{name}"
            if inner is not None:
                yield from keys_of(inner, name)


def limit_id(key):
    return key.partition(".")[0] not in SECTION_NAMES


SECTION_NAMES = (*sheet_model().model_fields, "durations", "events")
KEYS = sorted({key for key in keys_of(sheet_model()) if not limit_id(key)})


def test_the_walk_finds_the_keys():
    assert {"shaft.setback", "row.each", "durations.duration", "lash.at", "limits.sweep_width"} <= set(KEYS)
    assert len(KEYS) > 300


@pytest.mark.parametrize("key", KEYS)
def test_every_key_of_the_sheet_has_an_entry(key):
    assert topic_of(key) is not None, f"no topic of the guide explains {key}"


@pytest.mark.parametrize("column", [*COLUMNS, *TEXT_COLUMNS])
def test_every_column_of_the_table_of_valves_is_found(column):
    if column in COLUMNS:
        section, key, _ = COLUMNS[column]
        assert topic_of(f"{section}.{key}") is not None
    assert found(column)


def test_an_unknown_key_has_none():
    assert topic_of("shaft.color") is None
    assert topic_of("rocker.seat_step") is None
    with pytest.raises(KeyError, match="setback"):
        found("setbak")


def test_a_key_is_explained_once_and_exists():
    named = [key for topic in TOPICS for key in topic.keys if "*" not in key]
    assert len(named) == len(set(named))
    known = {*KEYS, *(f"{section}.{key}" for section, key, _ in COLUMNS.values())}
    assert set(named) <= known, set(named) - known


@pytest.mark.parametrize("asked", ["shaft.setback", "[shaft] setback", "SETBACK", "setback"])
def test_asked_in_any_way(asked):
    assert [topic.name for topic in found(asked)] == ["setback"]


def test_every_word_that_is_completed_is_found():
    for word in words_known():
        assert found(word)


@pytest.mark.parametrize("topic", TOPICS, ids=lambda topic: topic.name)
def test_a_topic_is_whole(topic):
    assert topic.how
    assert not topic.drawing or topic.drawing in DRAWINGS
    for entry in entries(topic):
        assert entry.doc
    for text in (*topic.how, *topic.slips, topic.instead):
        for command in re.findall(r"`valvetrain guide (\w+)`", text):
            assert found(command)


def test_measured_keys_say_instrument_and_uncertainty():
    (entry,) = [each for each in entries(found("setback")[0]) if each.name == "[shaft] setback"]
    # 30 micrometers are 0.030 mm and 0.0012 in
    assert (entry.instrument, entry.known_to) == ("caliper", "+- 0.0012 in (0.03 mm)")
    assert usual("spring_tester") == "+- 1.5 % of the reading"
    assert usual("exact") == ""
    assert len(entries(found("instruments")[0])) == len(DEFAULT_UNCERTAINTY)


def test_the_example_moves_as_the_model_says():
    e = EXAMPLE
    sizes = ("setback", "height", "pad_arm", "pad_radius", "socket_arm", "arm_angle", "tappet_setback")
    closed = closed_position(
        **{name: getattr(e, name) for name in (*sizes, "tappet_angle")},
        lash=0.0,
        pushrod_planar_length=e.pushrod,
    )
    swing = swung(closed, [e.lobe_lift])
    side = at_lift(e.lobe_lift)
    assert side.tip == pytest.approx(-float(swing.pad_drop[0]))
    assert side.pad[1] - e.pad_radius == pytest.approx(side.tip)  # the pad rests on the tip
    assert side.pad[0] == pytest.approx(float(swing.contact_x[0]))
    # the pushrod keeps its length, the arms theirs
    assert np.hypot(*np.subtract(side.socket, side.tappet)) == pytest.approx(e.pushrod)
    assert np.hypot(*np.subtract(side.socket, side.shaft)) == pytest.approx(e.socket_arm)


def test_a_wrong_shaft_height_widens_the_band():
    right, wrong = witness_band(EXAMPLE.height), witness_band(EXAMPLE.height - 5.0)
    assert wrong[1] - wrong[0] > 2 * (right[1] - right[0])


def test_a_flat_face_on_the_lobe_reads_its_lift():
    x, y = lobe_outline()
    # the highest point of the outline, turned by an angle, is base radius plus lift there
    for turn in np.radians([0.0, 20.0, 45.0, 90.0]):
        highest = np.max(y * np.cos(turn) + x * np.sin(turn))
        lift, _ = lobe_motion(np.array([-turn]))
        assert highest == pytest.approx(EXAMPLE.base_radius + float(lift[0]), abs=2e-3)


@pytest.mark.parametrize("name", DRAWINGS)
def test_drawings_are_whole(name):
    drawing = DRAWINGS[name]()
    assert drawing.title
    assert all(np.isfinite(points).all() for points, _ in drawing.lines)
    picture = text_picture(drawing, 100)
    assert max(map(len, picture.splitlines())) <= 100
    for text, *_ in drawing.words:
        assert text in picture, f"'{text}' is covered or cut off"
    assert text_picture(drawing, 78, plain=True).isascii()
    # no word leaves the picture
    page = svg(drawing, "t")
    wide = float(re.search(r'viewBox="0 0 (\d+)', page)[1])
    for at, anchor, word in re.findall(
        r'<text x="([\d.]+)" y="[\d.]+" text-anchor="(\w+)"[^>]*>([^<]*)<', page
    ):
        long = 0.5 * 15 * len(word)
        start = float(at) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * long
        assert start >= 0
        assert start + long <= wide


def test_words_are_escaped():
    drawing = Drawing("<b>")
    drawing.line([(0, 0), (1, 1)])
    drawing.say("a < b & c", 0, 0)
    page = svg(drawing, 'x"y')
    assert "<b>" not in page
    assert "a &lt; b &amp; c" in page
    assert 'id="x&quot;y"' in page


class Tags(HTMLParser):
    """Collects tags, and that they are closed in order."""

    def __init__(self):
        super().__init__()
        self.open, self.ids, self.hrefs, self.fetched = [], [], [], []

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.ids += [given["id"]] if "id" in given else []
        self.hrefs += [given["href"]] if "href" in given else []
        self.fetched += [given["src"]] if "src" in given else []
        if tag not in ("meta", "link", "br", "img", "polyline"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag != "polyline":
            assert self.open.pop() == tag


def test_the_page_is_whole_and_fetches_nothing():
    page = guide_page(TOPICS)
    tags = Tags()
    tags.feed(page)
    assert tags.open == []
    assert len(tags.ids) == len(set(tags.ids))
    assert not tags.fetched
    assert all(each.startswith("#") and each[1:] in tags.ids for each in tags.hrefs)
    assert "http" not in page.replace("http-equiv", "")
    for _, topics in GROUPS:
        for topic in topics:
            assert f'id="{topic.name}"' in page
    assert page.count("<svg") == sum(bool(topic.drawing) for topic in TOPICS)


@pytest.mark.parametrize(
    ("asked", "topic"),
    [("witness band", "ink"), ("ratio", "arms"), ("Shims", "drawer"), ("weights", "weights")],
)
def test_a_word_of_a_title_finds_its_topic(asked, topic):
    assert [each.name for each in found(asked)] == [topic]


def test_a_word_of_several_titles_lists_them():
    with pytest.raises(KeyError, match="gross_lift, piston_clearance"):
        found("dial")


def test_the_starter_sheet_speaks_of_units_as_a_shop_does():
    from valvetrain.setup.starter import Described, starter_files

    text = starter_files(Described("x", 4, 2, "inch", ("caliper",)))["setup.toml"]
    assert "delta_" not in text
    assert "# per degC" in text
