"""What comes off the printer: closed parts, no overhang, readable letters, a fit on the bed."""

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from cases import CASES, LIMITS, POST, frame, made, tube
from manifold3d import CrossSection, Error, JoinType, Manifold, OpType

from frame3d.guides.guide_error import GuideError
from frame3d.guides.guide_files import write_guides
from frame3d.guides.lettering import LEAST_CAP_MM, line
from frame3d.guides.plan import Printed, printed_guides
from frame3d.guides.printed_parts import parts_of
from frame3d.guides.record import entries
from frame3d.guides.sleeve import MARK_MM, RELIEF_MM, label_pitch, sleeve_solid
from frame3d.model import Frame, Joint, Printer, Shop
from frame3d.solids.finished_tube import finished_tube

VARIANTS = [
    Printer(clamp=clamp, opening=opening)  # type: ignore[arg-type]
    for clamp, opening in itertools.product(
        ("screws", "hose-clamp", "zip-ties"), ("slit", "halves")
    )
]
STEEP = Printer(overhang=35.0)
LOW = Printer(bed=(120.0, 120.0, 45.0), shrink=0.4)
NARROW = Printer(bed=(45.0, 45.0, 200.0), shrink=0.4)
SMALL = Printer(bed=(42.0, 42.0, 45.0), opening="halves")


def written(case: str, printer: Printer, folder: Path) -> list[Path]:
    write_guides(list(entries(made(case, printer))), printer, folder)
    return sorted(folder.glob("*.stl"))


@pytest.mark.parametrize("case", CASES)
def test_files_are_closed_single_bodies_without_thin_triangles(case: str, tmp_path: Path) -> None:
    for path in written(case, Printer(), tmp_path):
        read = trimesh.load_mesh(path)
        assert read.is_watertight and read.is_winding_consistent and read.body_count == 1
        assert read.volume > 0
        assert (read.area_faces > 0).all()
        assert np.allclose(read.bounds[0], 0.0, atol=1e-4)


@pytest.mark.parametrize(
    "printer",
    [*VARIANTS, STEEP, LOW, NARROW, SMALL],
    ids=lambda p: f"{p.clamp} {p.opening} {p.overhang:g} {p.bed[0]:g} {p.bed[2]:g}",
)
def test_nothing_overhangs_more_than_the_limit(printer: Printer, tmp_path: Path) -> None:
    """Read by another program: all faces off the bed lean out by no more than the limit."""
    paths = written("leaning", printer, tmp_path)
    assert len(paths) >= (4 if printer.opening == "halves" else 2)
    for path in paths:
        read = trimesh.load_mesh(path)
        assert read.is_watertight and read.body_count == 1
        on_bed = read.triangles[:, :, 2].max(axis=1) < 1e-4
        lean = np.degrees(np.arcsin(np.clip(-read.face_normals[:, 2], 0.0, 1.0)))
        big = read.area_faces > 1e-4  # normals of needles are noise in single precision
        assert lean[~on_bed & big].max() <= printer.overhang + 0.1
        assert on_bed.any()


@pytest.mark.parametrize("case", CASES)
def test_other_cases_overhang_as_little(case: str, tmp_path: Path) -> None:
    for path in written(case, Printer(), tmp_path):
        read = trimesh.load_mesh(path)
        on_bed = read.triangles[:, :, 2].max(axis=1) < 1e-4
        lean = np.degrees(np.arcsin(np.clip(-read.face_normals[:, 2], 0.0, 1.0)))
        assert lean[~on_bed & (read.area_faces > 1e-4)].max() <= 45.1


def letters_of(printed: Printed, out: float) -> CrossSection:
    """What stands `out` mm before the lettered side, as it is read: to the right and up."""
    guide = printed.guide
    side = guide.sleeve.lettered_side
    flat = guide.solid.rotate((0.0, -90.0 * side, 0.0))  # x, y, z become -side z, y, side x
    return flat.slice(guide.sleeve.section.radius + out)


@pytest.mark.parametrize("case", CASES)
def test_letters_are_raised_and_readable(case: str) -> None:
    """The raised solid, cut halfway out, is the words' outline; nothing stands farther out."""
    for printed in made(case):
        sleeve = printed.guide.sleeve
        assert letters_of(printed, RELIEF_MM + 0.02).is_empty()
        half = RELIEF_MM / 2
        rise = half * sleeve.grip.lean  # letters rise as they go out
        side = sleeve.lettered_side
        raised = letters_of(printed, half).translate((side * rise, 0.0))
        text = f"{sleeve.place.tube.name} {sleeve.place.end}"
        assert sleeve.label[0].text == text
        assert all(named.cap >= LEAST_CAP_MM for named in sleeve.label)
        expected = line(text, sleeve.label[0].cap).outline
        top = raised.bounds()[3]
        low = -1.0 - 1.2 - sleeve.label[0].cap
        widest = max(line.width for line in sleeve.label)
        left = sleeve.label_from if side < 0 else -sleeve.label_from - widest
        placed = expected.translate((left, low))
        missing = (placed - raised).area() / placed.area()
        assert missing < 0.01 and top < 0.0
        # Strokes at least one printed line wide make up nearly all of the letters.
        line_wide = 0.45
        narrowed = placed.offset(-line_wide / 2, JoinType.Round)
        opened = narrowed.offset(line_wide / 2, JoinType.Round)
        assert opened.area() > 0.9 * placed.area()


@pytest.mark.parametrize("case", CASES)
def test_arrow_points_towards_the_cope(case: str) -> None:
    """The arrow, found on the solid in the second line's band, grows narrower towards the cope."""
    for printed in made(case):
        sleeve = printed.guide.sleeve
        side, cap = sleeve.lettered_side, sleeve.label[1].cap
        assert ("←" if side > 0 else "→") in sleeve.label[1].text
        base = -1.0 - 1.2 - label_pitch(sleeve.section) - cap
        raised = letters_of(printed, RELIEF_MM / 2)
        widest = max(line.width for line in sleeve.label)
        left, length = -sleeve.label_from - widest, 1.6 * cap  # side > 0: the arrow comes first
        if side < 0:
            left = sleeve.label_from + sleeve.label[1].width - length
        left -= side * RELIEF_MM / 2 * sleeve.grip.lean
        box = CrossSection.square((length, cap)).translate((left, base))
        middle = (raised ^ box).to_polygons()
        points = np.concatenate(middle)
        cope = points[:, 0].max() if side < 0 else points[:, 0].min()
        tail = points[:, 0].min() if side < 0 else points[:, 0].max()
        assert np.ptp(points[np.abs(points[:, 0] - cope) < 0.05 * cap][:, 1]) < 0.2 * cap
        assert np.ptp(points[np.abs(points[:, 0] - tail) < 0.05 * cap][:, 1]) > 0.25 * cap


@pytest.mark.parametrize("beyond", [-1.0, -7.0, 3.0])
def test_letters_with_no_wall_behind_them_are_left_out(beyond: float) -> None:
    """Whatever the words are: none hangs off the wall, none becomes a body of its own."""
    sleeve = made("leaning")[0].guide.sleeve
    for start in (sleeve.top + beyond, -sleeve.label[0].width / 2):
        assert len(sleeve_solid(replace(sleeve, label_from=start)).decompose()) == 1


def test_accents_that_reach_the_slit_between_halves_are_left_out() -> None:
    whole = frame("leaning", Printer(opening="halves", clamp="zip-ties", wall=8.0, foot=12.0))
    named = {"rail": "ẲỒ rail"}
    tubes = tuple(replace(tube, name=named.get(tube.name, tube.name)) for tube in whole.tubes)
    joints = tuple(replace(joint, tube=named["rail"]) for joint in whole.joints)
    for printed in printed_guides(replace(whole, tubes=tubes, joints=joints))[0]:
        assert len(printed.guide.solid.decompose()) == 2
        assert [part.what for part in printed.parts] == ["upper half", "lower half"]


def test_a_crumb_is_no_part_and_loose_pieces_are_refused() -> None:
    guide = made("leaning")[0].guide
    crumb = Manifold.cube((0.5, 0.5, 0.5)).translate((100.0, 0.0, 0.0))
    assert [part.what for part in parts_of(guide.solid + crumb, False, Printer())] == ["whole"]
    with pytest.raises(GuideError, match="loose pieces"):
        parts_of(guide.solid + crumb.scale((9.0, 9.0, 9.0)), False, Printer())


def test_a_long_name_of_a_tube_is_shortened_and_its_end_is_kept() -> None:
    whole = frame("leaning")
    long = "the rail that runs from the post in the yard to the mast on the roof of the shed"
    tubes = tuple(replace(t, name=long) if t.name == "rail" else t for t in whole.tubes)
    joints = tuple(replace(joint, tube=long) for joint in whole.joints)
    for printed, end in zip(
        printed_guides(replace(whole, tubes=tubes, joints=joints))[0], ("start", "end"), strict=True
    ):
        text = printed.guide.sleeve.label[0].text
        assert text.startswith("the rail that") and text.endswith(f"… {end}")
        assert printed.guide.sleeve.length < 120.0


def test_setting_is_embossed_as_the_record_tells_it() -> None:
    for printed in made("leaning"):
        assert f"SET {printed.guide.setting:g}" in printed.guide.sleeve.label[1].text
        assert printed.guide.mark == printed.guide.setting + MARK_MM


def test_window_shows_the_mark_and_the_datum_line() -> None:
    """Its side corners stand at the mark's height, its lower and upper ones on the datum line."""
    guide = made("leaning")[0].guide
    front = guide.solid.rotate((90.0, 0.0, 0.0))  # z becomes y, y becomes -z... seen along -y
    sheet = front.slice(guide.sleeve.section.radius - 2.5)
    if sheet.is_empty():
        sheet = front.slice(-(guide.sleeve.section.radius - 2.5))
    holes = [p for p in sheet.to_polygons() if 20.0 < abs(_area(p)) < 60.0]
    (window,) = holes
    upright = window[:, 1] * np.sign(window[:, 1].mean())
    assert upright[np.argmin(window[:, 0])] == pytest.approx(MARK_MM, abs=1e-3)
    assert upright[np.argmax(window[:, 0])] == pytest.approx(MARK_MM, abs=1e-3)
    assert window[np.argmin(upright), 0] == pytest.approx(0.0, abs=1e-3)
    assert window[np.argmax(upright), 0] == pytest.approx(0.0, abs=1e-3)


def _area(polygon) -> float:  # type: ignore[no-untyped-def]
    x, y = polygon[:, 0], polygon[:, 1]
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


@pytest.mark.parametrize("printer", [LOW, NARROW, SMALL], ids=["low", "narrow", "small"])
@pytest.mark.parametrize("case", ["leaning", "tapered"])
def test_parts_for_a_small_bed_fit_it_and_go_together_into_the_whole(
    case: str, printer: Printer
) -> None:
    """Shrunk back and put in place, they fill the guide and do not cut each other."""
    assert any(len(printed.parts) > 1 for printed in made(case, printer))
    for printed in made(case, printer):
        back = []
        for part in printed.parts:
            size = part.size
            assert (size <= np.array(printer.bed) + 1e-9).all()
            assert len(part.solid.decompose()) == 1 and size[:2].min() > 5.0
            back.append(part.solid.transform(part.to_whole[:3]))
        whole = printed.guide.solid
        together = Manifold()
        for body in back:
            assert (together ^ body).volume() < 1e-6
            together = together + body
        # Only the room around pins and keys is lost, and nothing stands outside the whole.
        assert (together - whole).volume() < 1e-6
        lost = (whole - together).volume()
        assert 0 < lost < 60.0 * (len(back) - 1) or len(back) == 1


def test_a_part_cut_upright_can_move_only_off_the_others_face() -> None:
    """Pushed by half a millimetre along the face, or into it, it meets the key or the face."""
    printed = made("leaning", NARROW)[0]
    back = [part.solid.transform(part.to_whole[:3]) for part in printed.parts]
    middles = [np.reshape(b.bounding_box(), (2, 3)).mean(axis=0)[0] for b in back]
    for moved, middle in zip(back[1:], middles[1:], strict=True):
        others = Manifold.batch_boolean([b for b in back if b is not moved], OpType.Add)
        inward = -0.5 * np.sign(middle - middles[0])
        for way in ((0.0, 0.5, 0.0), (0.0, -0.5, 0.0), (inward, 0.0, 0.0)):
            assert (moved.translate(way) ^ others).volume() > 1.0


@pytest.mark.parametrize("clamp", ["screws", "zip-ties"])
def test_halves_can_move_only_apart(clamp: str) -> None:
    """Half a millimetre aside or along the tube the upper half meets the lower one's keys; as
    printed, closed to the tube and drawn off it meets nothing."""
    for printed in made("leaning", Printer(clamp=clamp, opening="halves")):  # type: ignore[arg-type]
        upper, lower = (part.solid.transform(part.to_whole[:3]) for part in printed.parts)
        for way in ((0.5, 0, 0), (-0.5, 0, 0), (0, 0, 0.5), (0, 0, -0.5)):
            assert (upper.translate(way) ^ lower).volume() > 1.0, way
        for way in ((0, 0, 0), (0, -0.15, 0), (0, 1.0, 0), (0, 5.0, 0)):
            assert (upper.translate(way) ^ lower).volume() < 1e-6, way


def test_a_wall_without_room_for_pins_and_keys_is_refused_with_both_sizes() -> None:
    text = reasons(Printer(bed=(40.0, 40.0, 200.0), wall=1.5))
    assert "does not fit the bed of 40 x 40 x 200 mm" in text and "thicker wall" in text


def test_shrinkage_is_given_back() -> None:
    plain, larger = made("leaning")[0].parts[0], made("leaning", Printer(shrink=0.5))[0].parts[0]
    assert larger.solid.volume() * 0.995**3 == pytest.approx(plain.solid.volume(), rel=1e-9)


def test_halves_are_made_where_a_sleeve_could_not_slide_on() -> None:
    """A tube that is thinner in the middle than at both ends."""
    from frame3d.model import Profile

    waisted = frame("tapered")
    horn = replace(waisted.tubes[2], od=Profile((0, 120, 280, 400), (28.0, 20.0, 20.0, 16.0)))
    printed, _ = printed_guides(replace(waisted, tubes=(*waisted.tubes[:2], horn)))
    assert [len(p.parts) for p in printed] == [1, 1]
    assert [p.guide.slides_on_from for p in printed] == ["end", "end"]
    horn = replace(horn, od=Profile((0, 40, 280, 400), (28.0, 20.0, 20.0, 28.0)))
    printed, refused = printed_guides(replace(waisted, tubes=(*waisted.tubes[:2], horn)))
    assert not refused
    assert [part.what for part in printed[0].parts] == ["upper half", "lower half"]
    assert printed[0].guide.slides_on_from is None
    widening = replace(horn, od=Profile((0, 400), (16.0, 28.0)))
    printed, _ = printed_guides(replace(waisted, tubes=(*waisted.tubes[:2], widening)))
    assert [p.guide.slides_on_from for p in printed] == ["start", "start"]


@pytest.mark.parametrize(
    "settings, words",
    [
        ({"clearance": 0.0}, "clearance: found 0, expected more than 0 mm"),
        ({"clearance": -0.1}, "clearance: found -0.1"),
        ({"wall": 0.0}, "wall: found 0, expected more than 0 mm"),
        ({"wall": 0.5}, "at least two lines, 0.9 mm"),
        ({"bed": (200.0, 200.0, 10.0)}, "expected at least 40 mm each way"),
        ({"overhang": 90.0}, "expected 20 to 80 degrees"),
        ({"shrink": 7.0}, "expected 0 up to 5 percent"),
    ],
)
def test_settings_that_cannot_be_used_are_said(settings: dict[str, float], words: str) -> None:
    with pytest.raises(GuideError, match="printer") as caught:
        printed_guides(frame("leaning", Printer(**settings)))  # type: ignore[arg-type]
    assert words in str(caught.value)


def reasons(printer: Printer, **changes: object) -> str:
    whole = replace(frame("leaning", printer), **changes)  # type: ignore[arg-type]
    made_now, refused = printed_guides(whole)
    assert not made_now
    assert {end.end for end in refused} == {"start", "end"}
    return refused[0].reason


def test_a_tube_too_short_for_two_guides_is_refused_with_the_lengths() -> None:
    tubes = frame("leaning").tubes
    near = replace(tubes[1], start=(80.0, 0.0, -100.0), end=(160.0, 0.0, 300.0))
    near = replace(near, start=(30.0, 0.0, -100.0), end=(110.0, 0.0, 300.0))
    short = replace(tubes[2], end=(51.0, 0.0, 5.0))
    text = reasons(Printer(), tubes=(tubes[0], near, short))
    assert "too short for two guides" in text and "would overlap by" in text
    assert "paper wraps" in text


def test_a_cope_so_shallow_that_the_tip_would_be_a_sliver_is_refused() -> None:
    tubes = frame("leaning").tubes
    flat = replace(tubes[2], start=(0.0, 0.0, -150.0), end=(75.0, 0.0, 230.0))
    joints = (replace(frame("leaning").joints[0]),)
    whole = replace(frame("leaning"), tubes=(*tubes[:2], flat), joints=joints)
    printed, refused = printed_guides(whole)
    assert not printed and "sliver" in refused[0].reason


def short_bridge(length: float, printer: Printer) -> Frame:
    near = tube("near side", (length, -200, 10), (length, 300, 10), 30.0, 1.2)
    bridge = tube("bridge", (0, 0, 0), (length, 3, 10), 14.0)
    joints = CASES["short"][1]
    return Frame(
        "a bridge", "fillet-braze", (POST, near, bridge), joints, LIMITS, Shop(printer=printer)
    )


GRIPPED = [("screws", "slit", 55.0), ("screws", "slit", 66.0), ("screws", "halves", 75.0)]
GRIPPED += [("zip-ties", "slit", 75.0), ("hose-clamp", "slit", 75.0)]


@pytest.mark.parametrize("clamp, opening, length", GRIPPED)
def test_clamps_of_a_short_tube_stand_over_its_finished_metal(
    clamp: str, opening: str, length: float
) -> None:
    """Found on the solids: every height at which the clamp grips, the tube is whole, both ends
    coped."""
    job = short_bridge(length, Printer(clamp=clamp, opening=opening))  # type: ignore[arg-type]
    printed, refused = printed_guides(job)
    assert not refused and len(printed) == 2
    copes = {p.guide.place.end: p.guide.place.cope for p in printed}
    solid = finished_tube(job.tube("bridge"), copes).solid
    for own in printed:
        guide, count = own.guide, len(own.guide.sleeve.grip.sides)
        local = solid.transform(np.linalg.inv(guide.matrix)[:3])
        whole = local.slice(guide.sleeve.length - length / 2).area()
        for low, high in guide.sleeve.grip.spans:
            assert low >= 0.0 and high < guide.sleeve.top
            for z in np.linspace(low + 0.1, high - 0.1, 9):
                assert local.slice(float(z)).area() == pytest.approx(whole, rel=1e-3)
        assert len(guide.solid.decompose()) == count
        for part in own.parts:
            assert part.solid.status() == Error.NoError and len(part.solid.decompose()) == 1
            assert overhang_deg(part.solid) <= 45.1


def test_a_tube_without_room_for_a_clamp_is_refused() -> None:
    printed, refused = printed_guides(short_bridge(56.0, Printer(clamp="zip-ties")))
    assert not printed
    assert "finds no room between the copes" in refused[0].reason


def overhang_deg(solid: Manifold) -> float:
    """The farthest that a face off the bed leans out."""
    mesh = solid.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts, int)]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    counts = (size > 2e-4) & (corners[:, :, 2].max(axis=1) > 1e-4)
    down = np.clip(-normal[counts, 2] / size[counts], 0.0, 1.0)
    return float(np.degrees(np.arcsin(down)).max())


@pytest.mark.parametrize("opening", ["slit", "halves"])
@pytest.mark.parametrize("clamp", ["screws", "zip-ties", "hose-clamp"])
def test_a_shallow_cope_gets_a_second_clamp_next_to_its_face(clamp: str, opening: str) -> None:
    """At 35 degrees two, at 45 one. The second's holes or grooves are found on the solid."""
    printer = Printer(clamp=clamp, opening=opening)  # type: ignore[arg-type]
    for angle, clamps in ((35.0, 2), (45.0, 1)):
        away = (300 * np.sin(np.radians(angle)), 0.0, 300 * np.cos(np.radians(angle)))
        strut = tube("strut", (0, 0, 0), away, 25.4)
        joints = (Joint("strut", "start", ("post",), (None,)),)
        job = Frame("shallow", "tig", (POST, strut), joints, LIMITS, Shop(printer=printer))
        ((own,), refused) = printed_guides(job)
        sleeve = own.guide.sleeve
        spans = sleeve.grip.spans
        assert not refused and len(spans) == clamps
        assert len(own.guide.solid.decompose()) == len(sleeve.grip.sides)
        assert all(overhang_deg(part.solid) <= 45.1 for part in own.parts)
        full, wide = own.guide.solid, sleeve.section.radius
        for low, high in spans:
            # In its span something is cut: an ear's holes, or the outside's grooves.
            middle = (low + high) / 2
            if clamp == "screws":
                near = full.slice(middle - 7.0)  # through the lower screw
                clear = full.slice(middle)  # between both
                beside = CrossSection.square((60.0, 30.0)).translate((wide + 2.5, -15.0))
                beside = beside + beside.mirror((1.0, 0.0))
                assert 0.0 < (near ^ beside).area() < 0.8 * (clear ^ beside).area()
            else:
                deep = min(full.slice(float(z)).area() for z in np.linspace(low, high, 41))
                assert deep < 0.95 * full.slice(high + 0.5).area()
        if clamps == 2:
            assert spans[1][0] >= spans[0][1]
            gap = sleeve.length - sleeve.throat - spans[1][1]
            assert gap >= 1.9 if clamp != "screws" else spans[1][1] < sleeve.top
