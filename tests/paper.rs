//! The bench's sheets, measured: millimetres from the PDF, angles from the SVG, words from both,
//! pages and paper.
//!
//! Needs poppler-utils (pdftoppm, pdftotext, pdfinfo, pdffonts); a test that cannot have them fails
//! and says so.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use std::path::{Path, PathBuf};
use std::process::Command;

use approx::assert_abs_diff_eq;
use common::{
    done, dotwise, nothing_overlaps_or_leaves, path_in, scene_drawn, scene_engine, text_box,
    text_of, unfolded,
};
use dotwise::angle::CrankAngle;
use dotwise::diagnosis::Observations;
use dotwise::diagnosis::proof::prove;
use dotwise::diagnosis::stage::Stage;
use dotwise::drawing::gear_face::GearFace;
use dotwise::drawing::meeting::meeting;
use dotwise::drawing::{ContentPart, Drawing, Item, Role};
use dotwise::engine::{read, scenes};
use dotwise::output::fonts;
use dotwise::output::paper::Paper;
use dotwise::output::sheet;
use dotwise::output::sheet::{SheetOptions, SheetPart, wheel};
use dotwise::phasing::{Phasing, Reading};

fn sheet(folder: &Path, name: &str, engine: &str, more: &[&str]) -> PathBuf {
    let path = folder.join(name);
    let mut arguments = vec![
        "sheet",
        engine,
        "-o",
        path.to_str().expect("a path"),
        "--force",
    ];
    arguments.extend(more);
    done(&arguments);
    path
}

fn poppler(tool: &str, arguments: &[&str]) -> Vec<u8> {
    let answer = Command::new(tool)
        .args(arguments)
        .output()
        .unwrap_or_else(|_| panic!("{tool} (Debian: poppler-utils) is needed"));
    assert!(
        answer.status.success(),
        "{tool} {arguments:?}: {}",
        String::from_utf8_lossy(&answer.stderr)
    );
    answer.stdout
}

fn words(pdf: &Path) -> String {
    String::from_utf8(poppler(
        "pdftotext",
        &["-layout", pdf.to_str().unwrap(), "-"],
    ))
    .expect("text")
}

/// A page as grey points, ten to the millimetre.
struct Scan {
    wide: usize,
    grey: Vec<u8>,
}

const POINTS_PER_MM: f64 = 10.0;

impl Scan {
    fn of(pdf: &Path, page: u32) -> Self {
        let page = page.to_string();
        let bytes = poppler(
            "pdftoppm",
            &[
                "-r",
                "254",
                "-gray",
                "-f",
                &page,
                "-l",
                &page,
                pdf.to_str().unwrap(),
            ],
        );
        // P5, width, height, 255, each after a blank; then the points.
        let mut fields = bytes.splitn(4, u8::is_ascii_whitespace);
        assert_eq!(fields.next(), Some(&b"P5"[..]));
        let number = |field: Option<&[u8]>| {
            std::str::from_utf8(field.expect("a field"))
                .expect("text")
                .parse::<usize>()
                .expect("a number")
        };
        let (wide, high) = (number(fields.next()), number(fields.next()));
        let grey = &fields.next().expect("points")[4..];
        assert_eq!(grey.len(), wide * high);
        Self {
            wide,
            grey: grey.to_vec(),
        }
    }

    fn row(&self, y: usize) -> &[u8] {
        &self.grey[y * self.wide..(y + 1) * self.wide]
    }

    fn high(&self) -> usize {
        self.grey.len() / self.wide
    }

    /// The widest anything reaches in the rows between two heights, millimetres.
    fn reach_mm(&self, from_mm: f64, to_mm: f64) -> f64 {
        let rows = (from_mm * POINTS_PER_MM) as usize..(to_mm * POINTS_PER_MM) as usize;
        let reaches = rows.filter_map(|y| {
            let row = self.row(y);
            let dark = |grey: &u8| *grey < 128;
            Some(row.iter().rposition(dark)? + 1 - row.iter().position(dark)?)
        });
        reaches.max().expect("something is drawn") as f64 / POINTS_PER_MM
    }

    /// The longest unbroken lines under a height that are near a length, each once, millimetres.
    fn lines_mm(&self, from_mm: f64, about_mm: f64) -> Vec<f64> {
        let mut found = Vec::new();
        let mut above = false;
        for y in (from_mm * POINTS_PER_MM) as usize..self.high() {
            let longest = self
                .row(y)
                .split(|grey| *grey >= 128)
                .map(<[u8]>::len)
                .max()
                .unwrap_or(0) as f64
                / POINTS_PER_MM;
            let here = (longest - about_mm).abs() < 5.0;
            if here && !above {
                found.push(longest);
            }
            above = here;
        }
        found
    }
}

#[test]
fn wheel_and_scale_line_measure_what_they_say() {
    let folder = tempfile::tempdir().expect("a folder");
    for (paper, diameter) in [("A4", 180.0), ("Letter", 180.0), ("A4", 123.4)] {
        let given = diameter.to_string();
        let pdf = sheet(
            folder.path(),
            "wheel.pdf",
            "bench_four",
            &["--only", "wheel", "--paper", paper, "--diameter", &given],
        );
        let scan = Scan::of(&pdf, 1);
        // From under the heading's rule to the wheel's foot; a line of 0.3 mm lies half outside the
        // rim on either side.
        // The caution stands in a line over it.
        let across = scan.reach_mm(36.0, 29.0 + diameter) - 0.3;
        assert_abs_diff_eq!(across, diameter, epsilon = 0.2);
        let scale = scan.lines_mm(30.0 + diameter, 100.0);
        assert_eq!(scale.len(), 1, "{scale:?}");
        // Its end ticks stand half a line's width beyond.
        assert_abs_diff_eq!(scale[0], 100.35, epsilon = 0.2);
    }
}

#[test]
fn a_wheel_larger_than_the_paper_comes_in_tiles_that_add_up() {
    let folder = tempfile::tempdir().expect("a folder");
    let pdf = sheet(
        folder.path(),
        "large.pdf",
        "bench_four",
        &["--only", "wheel", "--diameter", "300"],
    );
    let text = words(&pdf);
    for name in ["sheet A1", "sheet A2", "sheet B1", "sheet B2"] {
        assert!(text.contains(name), "{name}");
    }
    for page in 1..=5 {
        let scale = Scan::of(&pdf, page).lines_mm(30.0, 100.0);
        assert!(
            scale.iter().any(|line| (line - 100.35).abs() < 0.2),
            "page {page}: {scale:?}"
        );
    }
    // Between the cut and the rim's far side on the two upper tiles lies the whole wheel: 300 mm
    // and its edge of 1 mm on either side.
    let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
    let wanted = SheetOptions {
        only: vec![SheetPart::Wheel],
        diameter_mm: Some(300.0),
        ..SheetOptions::default()
    };
    let pages = sheet::pages(&phasing, &wanted).expect("pages");
    let rim_centres: Vec<_> = pages
        .iter()
        .map(|page| {
            page.items.iter().find_map(|item| match item {
                Item::Circle { centre, radius, .. } if (radius - 150.0).abs() < 1e-9 => {
                    Some(*centre)
                }
                _ => None,
            })
        })
        .collect();
    let [None, Some(a1), Some(a2), Some(b1), Some(b2)] = rim_centres[..] else {
        panic!("{rim_centres:?}")
    };
    // Each tile shifts the one wheel by exactly its own room.
    assert_abs_diff_eq!(a1.y, a2.y, epsilon = 1e-9);
    assert_abs_diff_eq!(a1.x, b1.x, epsilon = 1e-9);
    assert_abs_diff_eq!(a1.x - a2.x, b1.x - b2.x, epsilon = 1e-9);
    assert_abs_diff_eq!(a1.y - b1.y, a2.y - b2.y, epsilon = 1e-9);
}

/// Crank angles at which something that a reading tells changes from false to true, found from
/// readings alone.
fn turns_true(phasing: &Phasing, tells: impl Fn(&Reading) -> bool) -> Vec<f64> {
    let at = |degrees: f64| tells(&phasing.at(CrankAngle::new(degrees)));
    let mut found = Vec::new();
    for step in 0..1440 {
        let (mut before, mut after) = (f64::from(step) * 0.5, f64::from(step + 1) * 0.5);
        if !at(before) && at(after) {
            for _ in 0..40 {
                let middle = f64::midpoint(before, after);
                if at(middle) {
                    after = middle;
                } else {
                    before = middle;
                }
            }
            found.push(after);
        }
    }
    found
}

/// The ticks of the wheel's SVG that mark events: their distance from the centre, and the wheel's
/// own clock degrees.
fn event_ticks(svg: &str, side: f64) -> Vec<(f64, f64)> {
    let width = format!("stroke-width=\"{}\"", wheel::EVENT_MM);
    let mut ticks = Vec::new();
    for element in svg
        .split("<path")
        .skip(1)
        .filter(|element| element.split('>').next().unwrap().contains(&width))
    {
        let d = element
            .split(" d=\"")
            .nth(1)
            .unwrap()
            .split('"')
            .next()
            .unwrap();
        for line in d.split('M').skip(1) {
            let start = line.split('L').next().unwrap();
            let (x, y) = start.split_once(' ').unwrap();
            let (x, y): (f64, f64) = (x.parse().unwrap(), y.parse().unwrap());
            let (x, y) = (x - side / 2.0, y - side / 2.0);
            ticks.push((x.hypot(y), x.atan2(-y).to_degrees().rem_euclid(360.0)));
        }
    }
    ticks
}

#[test]
fn every_event_on_the_wheel_stands_where_the_readings_have_it() {
    for (scene, cam_teeth) in [
        ("bench_four", 0),
        ("bench_four", 2),
        ("anticlockwise", 0),
        ("vee_six_90", 0),
        ("marks_off_tdc", -1),
    ] {
        let engine = scene_engine(scene);
        let assembly = dotwise::engine::Assembly {
            cam_teeth,
            ..Default::default()
        };
        let phasing = Phasing::as_built(&engine, &assembly);
        let drawing = wheel::wheel(&phasing, 180.0);
        let ticks = event_ticks(
            &dotwise::output::svg::document(&drawing, dotwise::output::svg::Colours::Paper),
            drawing.size.x,
        );

        let one = |reading: &Reading| *reading.cylinder(1).expect("No. 1");
        let mut expected: Vec<f64> = Vec::new();
        let over =
            |reading: &Reading| one(reading).intake.lift_mm > phasing.intake().quoted_at_mm();
        expected.extend(turns_true(&phasing, over));
        expected.extend(turns_true(&phasing, |reading| !over(reading)));
        let over =
            |reading: &Reading| one(reading).exhaust.lift_mm > phasing.exhaust().quoted_at_mm();
        expected.extend(turns_true(&phasing, over));
        expected.extend(turns_true(&phasing, |reading| !over(reading)));
        assert_eq!(expected.len(), 4, "{scene}");
        // The spark of No. 1: from a reading just before, how far on it is.
        let just_before = phasing.cylinder(1).expect("No. 1").spark.degrees() - 0.25;
        let reading = phasing.at(CrankAngle::new(just_before));
        assert_eq!(reading.next_spark.cylinder, 1);
        expected.push(CrankAngle::new(just_before + reading.next_spark.after.degrees()).degrees());
        // The firings: from each to the next.
        let mut at = phasing.at(CrankAngle::new(719.0));
        for _ in 0..engine.cylinder_count() {
            let fires = at.crank + at.next_firing_tdc.after;
            expected.push(fires.degrees());
            at = phasing.at(fires);
        }

        let sign = phasing.crank_direction().sign();
        let mut rings: Vec<f64> = ticks.iter().map(|(radius, _)| *radius).collect();
        rings.sort_by(f64::total_cmp);
        rings.dedup_by(|one, other| (*one - *other).abs() < 0.01);
        let [overlap, firing, dead] = rings[..] else {
            panic!("{scene}: three rings, not {rings:?}")
        };
        for &crank in &expected {
            let ring = if crank < 360.0 { firing } else { overlap };
            let on_ring = ticks
                .iter()
                .filter(|(radius, _)| (radius - ring).abs() < 0.01);
            // The wheel runs against the crank. A micrometre on the page at 30 mm is two
            // thousandths of a degree.
            let nearest = on_ring
                .map(|(_, clock)| ((-sign * clock - crank + 180.0).rem_euclid(360.0) - 180.0).abs())
                .fold(360.0, f64::min);
            assert!(
                nearest < 0.01,
                "{scene}: nothing at {crank}° but {nearest}° away"
            );
        }
        let of_turns = ticks
            .iter()
            .filter(|(radius, _)| (radius - dead).abs() > 0.01)
            .count();
        assert_eq!(of_turns, expected.len(), "{scene}: nothing else is marked");
        // Dead centres: each tick is a dead centre of some cylinder by the reading, and each
        // cylinder has both.
        for cylinder in phasing.cylinders() {
            for at_end in [0.0, phasing.slider().down_stroke_deg()] {
                let crank = (cylinder.fires.degrees() + at_end).rem_euclid(360.0);
                let state = phasing.at(CrankAngle::new(crank));
                assert!(
                    state
                        .cylinder(cylinder.number)
                        .expect("it")
                        .dead_centre
                        .is_some()
                );
                let on_ring = ticks
                    .iter()
                    .filter(|(radius, _)| (radius - dead).abs() < 0.01);
                let nearest = on_ring
                    .map(|(_, clock)| {
                        ((-sign * clock - crank + 180.0).rem_euclid(360.0) - 180.0).abs()
                    })
                    .fold(360.0, f64::min);
                assert!(
                    nearest < 0.01,
                    "{scene}: No. {} at {crank}°: {nearest}",
                    cylinder.number
                );
            }
        }
    }
}

#[test]
fn a_strip_is_as_long_as_its_pulley_is_round() {
    let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
    for diameter in [120.0, 160.0, 305.5] {
        let wanted = SheetOptions {
            only: vec![SheetPart::Strip],
            diameter_mm: Some(diameter),
            ..SheetOptions::default()
        };
        let pages = sheet::pages(&phasing, &wanted).expect("pages");
        // The pieces' frames: closed, 17 mm high.
        let frames = pages
            .iter()
            .flat_map(|page| &page.items)
            .filter_map(|item| match item {
                Item::Path {
                    points,
                    closed: true,
                    pen,
                } if points.len() == 4
                    && !pen.dashed
                    && (points[2].y - points[0].y - 17.0).abs() < 1e-9 =>
                {
                    Some(points[2].x - points[0].x)
                }
                _ => None,
            });
        assert_abs_diff_eq!(
            frames.sum::<f64>(),
            std::f64::consts::PI * diameter,
            epsilon = 1e-6
        );
    }
}

#[test]
fn pages_have_their_paper_size_and_are_numbered() {
    let folder = tempfile::tempdir().expect("a folder");
    // Points: 210 × 297 mm and 8.5 × 11 in at 72 to the inch.
    for (paper, wide, high) in [("A4", 595.276, 841.890), ("Letter", 612.0, 792.0)] {
        let pdf = sheet(folder.path(), "all.pdf", "vee_eight", &["--paper", paper]);
        let text = words(&pdf);
        let pages: Vec<&str> = text
            .split('\u{c}')
            .filter(|page| !page.trim().is_empty())
            .collect();
        let info = String::from_utf8(poppler(
            "pdfinfo",
            &["-f", "1", "-l", "99", pdf.to_str().unwrap()],
        ))
        .expect("text");
        let sizes: Vec<(f64, f64)> = info
            .lines()
            .filter(|line| line.starts_with("Page ") && line.contains(" size:"))
            .map(|line| {
                let numbers: Vec<f64> = line
                    .split("size:")
                    .nth(1)
                    .unwrap()
                    .split_whitespace()
                    .filter_map(|part| part.parse().ok())
                    .collect();
                (numbers[0], numbers[1])
            })
            .collect();
        assert_eq!(sizes.len(), pages.len(), "{info}");
        for size in &sizes {
            assert_abs_diff_eq!(size.0, wide, epsilon = 0.02);
            assert_abs_diff_eq!(size.1, high, epsilon = 0.02);
        }
        for (index, page) in pages.iter().enumerate() {
            assert!(
                page.contains(&format!("page {} of {}", index + 1, pages.len())),
                "{page}"
            );
        }
    }
}

#[test]
fn what_a_builder_looks_for_is_found_in_the_pdf_and_its_type_is_embedded() {
    let folder = tempfile::tempdir().expect("a folder");
    let pdf = sheet(folder.path(), "bench.pdf", "bench_four", &[]);
    let text = unfolded(&words(&pdf));
    for wanted in [
        "Timing card",
        "Assembly sheet",
        "Timing marks",
        "Cap and leads",
        "Setting the valves",
        "Degree wheel",
        "Degree strip",
        "opens 12° BTDC, closes 52° ABDC: 244°",
        // 11 N·m is 8.113 lbf·ft: over 1.355 817 948, exact by definition.
        "Front cover nuts, outer before inner",
        "Tighten: 11 N·m (8.1 lbf·ft, 97.4 lbf·in).",
        "Caution",
        "Crankshaft end float",
        "built by",
        "battery",
        "intake opens",
        "rotor at 77°",
    ] {
        assert!(text.contains(wanted), "{wanted} is not in: {text}");
    }
    let fonts = String::from_utf8(poppler("pdffonts", &[pdf.to_str().unwrap()])).expect("text");
    let fonts: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(!fonts.is_empty());
    for font in fonts {
        assert!(font.contains("DotwiseSans"), "{font}");
        let fields: Vec<&str> = font.split_whitespace().collect();
        // … emb sub uni object ID: embedded, cut down, and with its characters' meaning.
        assert_eq!(
            fields[fields.len() - 5..fields.len() - 2],
            ["yes", "yes", "yes"],
            "{font}"
        );
    }
}

const ODD_NAME: &str = "=Hoch & \\\"Tief\\\" <b>7</b> Ørsted Ⅻ Ωμέγα מנוע محرك";

#[test]
fn odd_names_come_out_as_text_in_svg_html_and_pdf() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = scenes::BENCH
        .text
        .replacen("Bench four", ODD_NAME, 1)
        .replacen("pulley notch", "<i>& 'notch'", 1);
    let engine = folder.path().join("odd.ron");
    std::fs::write(&engine, text).expect("written");
    let engine = engine.to_str().expect("a path");
    let escaped = "=Hoch &amp; &quot;Tief&quot; &lt;b&gt;7&lt;/b&gt; Ørsted Ⅻ Ωμέγα מנוע محرك";
    for name in ["odd.svg", "odd.html"] {
        let path = sheet(folder.path(), name, engine, &["--only", "gears"]);
        // Of several pages as SVG each is a file of its own.
        let first = path.with_file_name("odd-1.svg");
        let written = std::fs::read_to_string(path).or_else(|_| std::fs::read_to_string(first));
        let written = written.expect("read");
        assert!(written.contains(escaped), "{name}");
        assert!(written.contains("&lt;i&gt;&amp; &#39;notch&#39;"), "{name}");
        assert!(
            !written.contains("<b>") && !written.contains("<i>"),
            "{name}"
        );
    }
    let pdf = sheet(folder.path(), "odd.pdf", engine, &["--only", "gears"]);
    let text: String = words(&pdf)
        .chars()
        .filter(|character| {
            !matches!(character, '\u{200e}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        })
        .collect();
    for wanted in [
        "=Hoch & \"Tief\" <b>7</b>",
        "Ørsted",
        "Ωμέγα",
        "מנוע",
        "محرك",
        "<i>& 'notch'",
    ] {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
}

/// An engine of 24 cylinders that fire 30° apart, with long names: as much as a sheet can be asked
/// to hold.
fn largest() -> Phasing {
    let list = |from: u32, to: u32| {
        (from..=to)
            .map(|number| number.to_string())
            .collect::<Vec<_>>()
            .join(", ")
    };
    let throws: Vec<String> = (0..24_u32)
        .map(|index| {
            format!(
                "(angle: {}.0, cylinders: [{}])",
                -f64::from(index * 30 % 360),
                index + 1
            )
        })
        .collect();
    let text = scenes::BENCH.text;
    let (start, end) = (text.find("throws:").unwrap(), text.find("banks:").unwrap());
    let text = format!(
        "{}throws: [{}]),\n{}",
        &text[..start],
        throws.join(", "),
        &text[end..]
    );
    let text = text
        .replacen(
            "cylinders: [1, 2, 3, 4])]",
            &format!("cylinders: [{}])]", list(1, 24)),
            1,
        )
        .replacen(
            "firing_order: [1, 3, 4, 2]",
            &format!("firing_order: [{}]", list(1, 24)),
            1,
        )
        .replacen(
            "Bench four",
            &"A name as long as the builder's patience ".repeat(4),
            1,
        )
        .replacen("Front cover nuts", &"Supercalifragilistic".repeat(12), 1);
    let read = read::engine(&text);
    Phasing::as_drawn(
        read.engine
            .as_ref()
            .unwrap_or_else(|| panic!("{:#?}", read.findings)),
    )
}

#[test]
fn no_text_lies_over_another_or_leaves_its_page() {
    let mut engines: Vec<Phasing> = scenes::SCENES
        .iter()
        .map(|scene| Phasing::as_drawn(&scene.engine()))
        .collect();
    engines.push(largest());
    let wrong = dotwise::engine::Assembly {
        cam_teeth: 2,
        drive_teeth: -3,
        tongue_half_turn: false,
        body_turn_deg: 11.5,
        leads: Some(vec![4, 3, 1, 2]),
        ..dotwise::engine::Assembly::default()
    };
    engines.push(Phasing::as_built(&scenes::BENCH.engine(), &wrong));
    for phasing in &engines {
        for paper in [Paper::A4, Paper::Letter] {
            for page in sheet::pages(
                phasing,
                &SheetOptions {
                    paper,
                    ..SheetOptions::default()
                },
            )
            .expect("pages")
            {
                nothing_overlaps_or_leaves(&page);
            }
        }
    }
}

#[test]
fn every_letter_of_every_sheet_is_in_the_type() {
    for scene in &scenes::SCENES {
        let pages = sheet::pages(
            &Phasing::as_drawn(&scene.engine()),
            &SheetOptions::default(),
        )
        .expect("pages");
        let mut texts = 0;
        for item in pages.iter().flat_map(|page| &page.items) {
            if let Item::Text { text, bold, .. } = item {
                texts += 1;
                let missing: String = text
                    .chars()
                    .filter(|character| !fonts::has(*character, *bold))
                    .collect();
                assert!(missing.is_empty(), "{text:?}: {missing:?}");
            }
        }
        assert!(texts > 50, "{}: {texts} texts", scene.name);
    }
}

#[test]
fn a_sheet_is_written_whole_and_over_nothing_unless_told_to() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("card.svg");
    let name = path.to_str().expect("a path");
    assert!(
        dotwise(&["sheet", "single", "-o", name, "--only", "card"])
            .status
            .success()
    );
    let first = std::fs::read(&path).expect("read");
    let again = dotwise(&["sheet", "bench_four", "-o", name, "--only", "card"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(
        String::from_utf8_lossy(&again.stderr).contains("--force"),
        "{}",
        String::from_utf8_lossy(&again.stderr)
    );
    assert_eq!(std::fs::read(&path).expect("read"), first);
    let out = dotwise(&["sheet", "single", "-o", "-", "--only", "card"]);
    assert!(out.status.success());
    assert_eq!(out.stdout, first, "standard output gets the same");
    let told = dotwise(&[
        "sheet",
        "bench_four",
        "-o",
        name,
        "--only",
        "card",
        "--force",
        "--json",
    ]);
    let record: serde_json::Value =
        serde_json::from_slice(&told.stdout).expect("one JSON document");
    assert_eq!(
        record["bytes"],
        std::fs::metadata(&path).expect("there").len()
    );
    // Nothing but the sheet lies there.
    assert_eq!(std::fs::read_dir(folder.path()).expect("listed").count(), 1);
}

#[test]
fn what_cannot_be_had_is_said_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| path_in(&folder, name);
    for (arguments, says) in [
        (
            vec!["sheet", "single", "-o", &at("a.pdf"), "--only", "cap"],
            "no distributor",
        ),
        (
            vec!["sheet", "bench_four", "-o", &at("a.doc")],
            ".pdf, .svg or .html",
        ),
        (
            vec![
                "sheet",
                "bench_four",
                "-o",
                &at("a.pdf"),
                "--diameter",
                "-5",
            ],
            "100 mm to 600 mm",
        ),
        (
            vec![
                "sheet",
                "bench_four",
                "-o",
                &at("a.pdf"),
                "--diameter",
                "nan",
            ],
            "no length",
        ),
        (
            vec!["sheet", "bench_four", "-o", &at("not there/a.pdf")],
            "could not be written",
        ),
        (vec!["handout", "bench_four", "-o", &at("a.pdf")], "HTML"),
    ] {
        let answer = dotwise(&arguments);
        let said = String::from_utf8_lossy(&answer.stderr).into_owned();
        assert_eq!(answer.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(said.contains(says), "{arguments:?}: {said}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).expect("listed").count(), 0);
}

#[test]
fn a_strip_is_made_for_every_pulley_that_a_description_may_have() {
    let row = dotwise::description::fields::field("pulley_diameter").expect("its row");
    let range = row.range().expect("a number");
    let sheet = |diameter: f64, only: &str| {
        dotwise(&[
            "sheet",
            "single",
            "--only",
            only,
            "--diameter",
            &diameter.to_string(),
            "-o",
            "-",
        ])
    };
    for (diameter, most_pages) in [(range.least, 1), (160.0, 1), (range.most, 40)] {
        let made = sheet(diameter, "strip");
        assert!(made.status.success(), "{diameter}: {made:?}");
        let svg = String::from_utf8_lossy(&made.stdout);
        assert!(
            !svg.contains("NaN") && svg.len() < 2_000_000,
            "{diameter}: {} bytes",
            svg.len()
        );
        // Pages stand one under another, 297 mm each.
        let size = svg.split_once("viewBox=\"0 0 210 ").expect("its size").1;
        let high: usize = size
            .split_once('"')
            .expect("its end")
            .0
            .parse()
            .expect("whole");
        let pages = high / 297;
        assert!(
            (1..=most_pages).contains(&pages),
            "{diameter}: {pages} pages"
        );
    }
    for diameter in [range.least / 2.0, range.most * 1.1] {
        let refused = sheet(diameter, "strip");
        let err = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(
            refused.status.code() == Some(2) && err.contains("10 mm to 10000 mm"),
            "{err}"
        );
    }
    // A wheel beside it must still fit its paper.
    assert_eq!(sheet(range.most, "wheel,strip").status.code(), Some(2));
}

/// Every page of the whole folder, of every scene on both papers, and of the largest engine.
fn every_page() -> Vec<(String, Vec<Drawing>)> {
    let scenes = scenes::SCENES.iter();
    let mut engines: Vec<Phasing> = scenes
        .map(|scene| Phasing::as_drawn(&scene.engine()))
        .collect();
    engines.push(largest());
    let mut all = Vec::new();
    for phasing in &engines {
        for paper in [Paper::A4, Paper::Letter] {
            let wanted = SheetOptions {
                paper,
                ..SheetOptions::default()
            };
            let name = format!("{} on {paper:?}", phasing.engine().name());
            all.push((name, sheet::pages(phasing, &wanted).expect("pages")));
        }
    }
    all
}

/// The texts of a page from above, under what stands over it.
fn sizes(page: &Drawing) -> impl Iterator<Item = (f64, &str)> {
    page.items.iter().filter_map(|item| match item {
        Item::Text { text, size, .. } => Some((*size, text.as_str())),
        _ => None,
    })
}

#[test]
fn every_page_says_whose_it_is_by_what_and_when_which_it_is_and_how_to_turn() {
    let made = format!("Dotwise {}, printed ", env!("CARGO_PKG_VERSION"));
    for (name, pages) in every_page() {
        for (index, page) in pages.iter().enumerate() {
            let text = text_of(page);
            let of = format!(", page {} of {}", index + 1, pages.len());
            let day = text.split(&made).nth(1).expect("its day");
            let (day, after) = day.split_at(10);
            assert!(day.parse::<jiff::civil::Date>().is_ok(), "{name}: {day}");
            assert!(after.starts_with(&of), "{name}: {after}");
            let engine = name.split(" on ").next().expect("a name");
            let engine = engine.get(..20).unwrap_or(engine);
            assert!(text.contains(engine), "{name}, {}", page.title);
            for caution in ["battery disconnected", "Never force a crank that stops"] {
                assert!(text.contains(caution), "{name}, {}", page.title);
            }
        }
    }
}

#[test]
fn no_type_is_too_small_to_read_and_no_page_is_all_but_empty() {
    let mut bare = Vec::new();
    for (name, pages) in every_page() {
        for page in &pages {
            for (size, text) in sizes(page) {
                assert!(
                    size >= fonts::LEAST_MM - 1e-9,
                    "{name}, {}: {text:?} at {size}",
                    page.title
                );
            }
            let from_foot =
                |item: &&Item| text_box(item).is_some_and(|(at, _)| at[3] < page.size.y - 16.0);
            let lowest = page
                .items
                .iter()
                .filter(from_foot)
                .filter_map(|item| text_box(item).map(|(at, _)| at[3]))
                .fold(0.0, f64::max);
            if lowest < page.size.y / 3.0 {
                bare.push(format!("{name}, {}", page.title));
            }
        }
    }
    // A strip for a small pulley is short, and there is nothing else to set under it.
    bare.retain(|page| !page.contains("Degree strip"));
    assert!(bare.is_empty(), "{bare:#?}");
}

#[test]
fn the_folder_opens_with_its_contents_and_each_sheet_is_on_the_page_that_is_told() {
    let pages = sheet::pages(&scene_drawn("vee_eight"), &SheetOptions::default()).expect("pages");
    let contents = text_of(&pages[0]);
    assert!(pages[0].title.starts_with("Contents"));
    for heading in [
        "Timing card",
        "Assembly sheet",
        "Measuring",
        "Timing marks",
        "Cap and leads",
        "Setting the valves",
        "Degree wheel",
        "Degree strip for the pulley",
        "Closing record",
    ] {
        assert!(contents.contains(heading), "{heading}: {contents}");
        let is_first = |page: &Drawing| page.title.starts_with(&format!("{heading}:"));
        let first = pages.iter().position(is_first).expect("its first page") + 1;
        let row = contents.split(heading).nth(1).expect("its row");
        let number = row
            .split_whitespace()
            .find_map(|word| word.parse::<usize>().ok());
        assert_eq!(number, Some(first), "{heading}: {row}");
    }
    // A part asked for by its name stands alone.
    let folder = tempfile::tempdir().expect("a folder");
    let card = sheet(folder.path(), "card.pdf", "vee_eight", &["--part", "card"]);
    assert!(!words(&card).contains("Contents"));
}

#[test]
fn several_pages_as_svg_are_as_many_files_or_none() {
    let folder = tempfile::tempdir().expect("a folder");
    let told = done(&[
        "sheet",
        "bench_four",
        "--part",
        "card,cap,gears",
        "-o",
        &path_in(&folder, "sheet.svg"),
        "--json",
    ]);
    let told: serde_json::Value = serde_json::from_slice(&told).expect("JSON");
    let files = told["files"].as_array().expect("several").clone();
    assert_eq!(told["file"], files[0]);
    assert!(files.len() >= 3, "{told}");
    let mut bytes = 0;
    for (index, file) in files.iter().enumerate() {
        let file = file.as_str().expect("a path");
        assert!(
            file.ends_with(&format!("sheet-{}.svg", index + 1)),
            "{file}"
        );
        let svg = std::fs::read_to_string(file).expect("read");
        assert!(svg.contains("viewBox=\"0 0 210 297\" width=\"210mm\" height=\"297mm\""));
        bytes += svg.len();
    }
    assert_eq!(told["bytes"], bytes);
    // One of them is there: none of the others is written.
    std::fs::remove_file(path_in(&folder, "sheet-1.svg")).expect("removed");
    let out = path_in(&folder, "sheet.svg");
    let again = dotwise(&[
        "sheet",
        "bench_four",
        "--part",
        "card,cap,gears",
        "-o",
        &out,
    ]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("sheet-2.svg is there already"));
    assert!(!Path::new(&path_in(&folder, "sheet-1.svg")).exists());
}

#[test]
fn a_pdf_is_read_out_by_headings_tables_and_drawings_with_what_they_show() {
    let folder = tempfile::tempdir().expect("a folder");
    let pdf = sheet(folder.path(), "all.pdf", "vee_eight", &[]);
    let info = |more: &[&str]| {
        let mut arguments = more.to_vec();
        arguments.push(pdf.to_str().expect("a path"));
        // pdfinfo cuts a text where it is long, and that may be within a letter.
        String::from_utf8_lossy(&poppler("pdfinfo", &arguments)).into_owned()
    };
    let about = info(&[]) + &info(&["-meta"]);
    // krilla's own checks of PDF/UA-1 passed, or it would not be so called.
    assert!(about.contains("Tagged:          yes"), "{about}");
    assert!(about.contains("<pdfuaid:part>1</pdfuaid:part>"), "{about}");
    let structure = info(&["-struct-text"]);
    let count = |tag: &str| {
        let is_tag = |line: &&str| line.trim_start().split([' ', ':']).next() == Some(tag);
        structure.lines().filter(is_tag).count()
    };
    assert_eq!(count("H1"), 10, "{structure}");
    for (tag, least) in [
        ("H2", 12),
        ("P", 100),
        ("Table", 8),
        ("TR", 60),
        ("TH", 60),
        ("TD", 60),
    ] {
        assert!(count(tag) >= least, "{tag}: {}", count(tag));
    }
    assert!(count("Figure") >= 8, "{}", count("Figure"));
    for said in ["\"Timing card\"", "\"No. 8 intake\"", "\"gap found\""] {
        assert!(structure.contains(said), "{said}: {structure}");
    }
    let bytes = std::fs::read(&pdf).expect("read");
    assert!(
        bytes.windows(4).any(|bytes| bytes == b"/Alt"),
        "a drawing says what it shows"
    );
    let outline = poppler(
        "pdftohtml",
        &["-xml", "-i", "-stdout", pdf.to_str().expect("a path")],
    );
    let outline = String::from_utf8(outline)
        .expect("text")
        .replace("&#39;", "'");
    for bookmark in [
        "Contents",
        "Timing marks",
        "Leads, in the rotor's direction",
    ] {
        let found = outline
            .lines()
            .any(|line| line.starts_with("<item") && line.contains(bookmark));
        assert!(found, "{bookmark}");
    }
}

#[test]
fn a_character_that_the_type_lacks_is_told_with_the_font_it_is_taken_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let engine = path_in(&folder, "odd.ron");
    // Georgian, and one of the private use area, which no font should have.
    let name = "\u{10eb}\u{10e0}\u{10d0}\u{10d5}\u{10d8} \u{f3a7}";
    std::fs::write(&engine, scenes::BENCH.text.replacen("Bench four", name, 1)).expect("written");
    let told = |out: &str| {
        let out = path_in(&folder, out);
        let answer = dotwise(&["sheet", &engine, "--only", "card", "-o", &out]);
        assert!(answer.status.success(), "{answer:?}");
        unfolded(&String::from_utf8_lossy(&answer.stderr))
    };
    let pdf = told("odd.pdf");
    for said in ["(U+10EB)", "(U+F3A7)", "an empty box stands in its place"] {
        assert!(pdf.contains(said), "{said}: {pdf}");
    }
    assert!(told("odd.svg").contains("whatever shows the page takes a font of its own"));
    let plain = dotwise(&["sheet", "bench_four", "--only", "card", "-o", "-"]);
    assert!(plain.stderr.is_empty(), "{plain:?}");
}

#[test]
fn no_line_of_a_strip_strikes_out_a_figure_or_a_name_and_each_piece_has_its_engines() {
    for (scene, diameter) in [
        ("bench_four", 160.0),
        ("vee_eight", 175.0),
        ("vee_six_90", 120.0),
        ("flat_six", 90.0),
    ] {
        let phasing = scene_drawn(scene);
        let wanted = SheetOptions {
            only: vec![SheetPart::Strip],
            diameter_mm: Some(diameter),
            ..SheetOptions::default()
        };
        let pages = sheet::pages(&phasing, &wanted).expect("pages");
        let mut pieces = 0;
        for page in &pages {
            let boxes: Vec<_> = page.items.iter().filter_map(text_box).collect();
            let lines = page.items.iter().filter_map(|item| match item {
                Item::Path { points, pen, .. } if pen.role == Role::Mark => Some(points),
                _ => None,
            });
            for line in lines {
                for (at, text) in &boxes {
                    let across = (at[0]..at[2]).contains(&line[0].x);
                    let struck = across && line[0].y < at[3] - 0.1 && line[1].y > at[1] + 0.1;
                    assert!(!struck, "{scene}: {text:?} is struck out");
                }
            }
            let own = format!("{} ", phasing.engine().name());
            pieces += boxes
                .iter()
                .filter(|(_, text)| text.starts_with(&own))
                .count();
        }
        let long = std::f64::consts::PI * diameter;
        assert_eq!(pieces, (long / 174.0).ceil() as usize, "{scene}");
    }
}

#[test]
fn a_small_wheel_keeps_its_names_off_its_hub_and_says_its_short_ones_in_full() {
    let phasing = scene_drawn("wasted_spark_twin");
    for (diameter, is_short) in [(100.0, true), (180.0, false)] {
        let drawing = wheel::wheel(&phasing, diameter);
        let name = phasing.engine().name();
        let written = |words: &str| sizes(&drawing).any(|(_, text)| text == words);
        assert_eq!(written("IO"), is_short);
        assert_eq!(written("intake opens"), !is_short);
        let first = name.get(..4).expect("four letters");
        assert!(
            sizes(&drawing).any(|(_, text)| text.starts_with(first)),
            "{name}"
        );
        let wanted = SheetOptions {
            only: vec![SheetPart::Wheel],
            diameter_mm: Some(diameter),
            ..SheetOptions::default()
        };
        let pages = sheet::pages(&phasing, &wanted).expect("pages");
        assert_eq!(text_of(&pages[0]).contains("IO, IC, EO and EC"), is_short);
        // A name runs along the radius, from its anchor inwards.
        for item in &drawing.items {
            if let Item::Text { at, text, size, .. } = item
                && text.parse::<u32>().is_err()
            {
                let outer = (*at - drawing.size / 2.0).length();
                let inner = outer - fonts::width(text, false) * size;
                assert!(
                    inner > 9.0,
                    "{text:?} reaches to {inner} mm at {diameter} mm"
                );
            }
        }
    }
}

#[test]
fn the_valve_sheet_has_a_line_for_each_valve_with_the_gap_asked_and_room_for_what_was_found() {
    let text = |scene: &str| {
        let wanted = SheetOptions {
            only: vec![SheetPart::Valves],
            ..SheetOptions::default()
        };
        let pages = sheet::pages(&scene_drawn(scene), &wanted).expect("pages");
        pages.iter().map(text_of).collect::<Vec<_>>().join(" ")
    };
    let four = text("bench_four");
    assert!(four.contains("gap asked gap found gap set"), "{four}");
    for number in 1..=4 {
        for valve in ["intake", "exhaust"] {
            assert_eq!(four.matches(&format!("No. {number} {valve}")).count(), 1);
        }
    }
    let eight = text("hydraulic_eight");
    assert!(
        !eight.contains("gap found") && eight.contains("past zero lash"),
        "{eight}"
    );
}

#[test]
fn the_witnesses_of_the_sheet_are_those_of_the_stage_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = |more: &[&str]| {
        let mut arguments = vec!["--only", "gears"];
        arguments.extend(more);
        unfolded(&words(&sheet(
            folder.path(),
            "gears.pdf",
            "bench_four",
            &arguments,
        )))
    };
    let (off, on) = (text(&[]), text(&["--stage", "cover-on"]));
    let table = |text: &str, heading: &str| {
        text.split(heading)
            .nth(1)
            .unwrap_or_else(|| panic!("{heading}: {text}"))
            .to_owned()
    };
    assert!(table(&off, "Firing or overlap, with the cover off").contains("cam gear dot"));
    assert!(!table(&on, "Firing or overlap, with the cover on").contains("cam gear dot"));
}

#[test]
fn what_is_measured_stands_beside_what_is_specified_and_is_filled_in_from_the_build() {
    let wanted = SheetOptions {
        only: vec![SheetPart::Measure],
        ..SheetOptions::default()
    };
    let pages = sheet::pages(&scene_drawn("marks_off_tdc"), &wanted).expect("pages");
    let text = pages.iter().map(text_of).collect::<Vec<_>>().join(" ");
    for said in [
        "True TDC, by the stop",
        "intake as specified as measured exhaust as specified as measured",
        "lobe centre",
        "separation, of cam",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    // bench four: 12-52 about 110 after the overlap TDC, at any lift; 244° from seat to seat.
    let pages = sheet::pages(&scene_drawn("bench_four"), &wanted).expect("pages");
    let text = pages.iter().map(text_of).collect::<Vec<_>>().join(" ");
    let centres = text.split("lobe centre").nth(1).expect("its row");
    let centres: Vec<&str> = centres.split_whitespace().take(2).collect();
    assert_eq!(centres, ["110\u{b0}", "\u{2212}110\u{b0}"], "{text}");
    assert!(text.contains("separation, of cam 110\u{b0}"), "{text}");
}

#[test]
fn the_same_remark_stands_once_where_the_leads_are_plugged() {
    let wanted = SheetOptions {
        only: vec![SheetPart::Assembly],
        ..SheetOptions::default()
    };
    let pages = sheet::pages(&scene_drawn("vee_eight"), &wanted).expect("pages");
    let text = pages.iter().map(text_of).collect::<Vec<_>>().join(" ");
    assert_eq!(
        text.matches("and not round the cap as the cylinders stand")
            .count(),
        1
    );
    for lead in 1..=8 {
        assert_eq!(
            text.matches(&format!("Lead {lead} of 8")).count(),
            1,
            "{lead}"
        );
    }
}

#[test]
fn the_closing_record_ends_the_folder_and_can_be_had_alone_empty_to_be_filled_in() {
    let text = |pages: &[Drawing]| pages.iter().map(text_of).collect::<Vec<_>>().join(" ");
    for scene in ["bench_four", "crank_magneto", "twin_cam_four"] {
        let phasing = scene_drawn(scene);
        let folder = sheet::pages(&phasing, &SheetOptions::default()).expect("pages");
        let last = folder.last().expect("a page");
        assert!(last.title.starts_with("Closing record"), "{}", last.title);
        let wanted = SheetOptions {
            only: vec![SheetPart::Record],
            ..SheetOptions::default()
        };
        let alone = sheet::pages(&phasing, &wanted).expect("pages");
        let proof = prove(
            phasing.engine(),
            &Observations::default(),
            Stage::default(),
            &[],
        );
        let proved = sheet::record(
            &phasing,
            &proof,
            &Observations::default(),
            None,
            None,
            Paper::A4,
        );
        assert_eq!(text(&alone), text(&proved), "{scene}: as `prove -o` has it");
        for said in ["Looks to take", "Measured", "Signed", "built by"] {
            assert!(text(&alone).contains(said), "{scene}: {said}");
        }
        assert!(!text(&alone).contains("Seen "), "{scene}");
        let shut_in = phasing.engine().written().cam_drive_lies_in_the_case();
        let before = "before that is closed, and write here what was seen then";
        assert_eq!(text(&alone).contains(before), shut_in, "{scene}");
    }
    let folder = tempfile::tempdir().expect("a folder");
    let pdf = sheet(
        folder.path(),
        "record.pdf",
        "vee_eight",
        &["--part", "record"],
    );
    assert!(words(&pdf).contains("Closing record"));
}

#[test]
fn no_heading_stands_alone_at_a_pages_foot_and_the_timing_marks_have_one_page() {
    let (mut bare, mut headings) = (Vec::new(), 0);
    for (name, pages) in every_page() {
        for page in &pages {
            let parts = page.contents.iter().map(|content| &content.part);
            let is_heading = |part: &&ContentPart| {
                matches!(part, ContentPart::Heading(_) | ContentPart::Part(_))
            };
            headings += parts.clone().filter(is_heading).count();
            if parts.clone().next_back().as_ref().is_some_and(is_heading) {
                bare.push(format!("{name}: a heading alone on {}", page.title));
            }
            // A name of any length may take the room.
            let is_second = page.title.starts_with("Timing marks, continued");
            if is_second && !name.starts_with("A name as long") {
                bare.push(format!("{name}: {}", page.title));
            }
        }
    }
    assert!(headings > 1000, "{headings}");
    assert!(bare.is_empty(), "{bare:#?}");
}

#[test]
fn what_is_drawn_large_has_every_marks_name_whole() {
    let mut drawn = 0;
    for phasing in scenes::SCENES
        .iter()
        .map(|scene| scene_drawn(scene.name))
        .chain([largest()])
    {
        let meet = CrankAngle::new(phasing.engine().metric().cam_drive.marks_meet_at());
        let Some(meeting) = meeting(&GearFace::new(&phasing), &phasing.at(meet)) else {
            continue;
        };
        drawn += 1;
        for (_, text) in sizes(&meeting) {
            assert!(
                !text.contains('\u{2026}'),
                "{}: {text:?}",
                phasing.engine().name()
            );
        }
        for (at, text) in meeting.items.iter().filter_map(text_box) {
            let within = at[0] > 0.0 && at[2] < meeting.size.x && at[3] < meeting.size.y;
            assert!(within, "{}: {text:?} at {at:?}", phasing.engine().name());
        }
    }
    assert!(drawn > 10, "{drawn}");
}

#[test]
fn a_sequence_is_drawn_as_the_fasteners_lie_with_a_box_for_each_pass() {
    let pages = |rows: &str| {
        let steps = format!(
            "steps: [(do: \"Head bolts\", torque: NewtonMetres(70.0), passes: [25.0, 70.0], after: \"heads-on\", {rows}),"
        );
        let text = scenes::BENCH.text.replacen("steps: [", &steps, 1);
        let engine = read::engine(&text).engine.expect("an engine");
        let wanted = SheetOptions {
            only: vec![SheetPart::Assembly],
            ..SheetOptions::default()
        };
        sheet::pages(&Phasing::as_drawn(&engine), &wanted).expect("pages")
    };
    let rings = |pages: &[Drawing]| {
        let mut places: Vec<(u32, glam::DVec2)> = Vec::new();
        for page in pages {
            let centres = page.items.iter().filter_map(|item| match item {
                Item::Circle { centre, .. } => Some(*centre),
                _ => None,
            });
            for centre in centres {
                let within = page.items.iter().find_map(|item| match item {
                    Item::Text { at, text, .. } if at.distance(centre) < 0.1 => text.parse().ok(),
                    _ => None,
                });
                places.push((within.expect("its turn"), centre));
            }
        }
        places.sort_by_key(|(turn, _)| *turn);
        places
    };
    let laid = pages("rows: [[3, 1], [2, 4]]");
    let [(1, one), (2, two), (3, three), (4, four)] = rings(&laid)[..] else {
        panic!("{:?}", rings(&laid))
    };
    assert!(one.y == three.y && two.y == four.y && one.y < two.y);
    assert!(three.x == two.x && one.x == four.x && three.x < one.x);
    let text = laid.iter().map(text_of).collect::<Vec<_>>().join(" ");
    // 25 and 70 N·m over 1.355 817 948 are 18.4 and 51.6 lbf·ft; twelve times that 221.3 and 619.6 lbf·in.
    for said in [
        "Pass 1 of 2: 25 N·m (18.4 lbf·ft, 221.3 lbf·in), in that order.",
        "Pass 2 of 2: 70 N·m (51.6 lbf·ft, 619.6 lbf·in), in that order.",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(
        !text.contains("your own number"),
        "the numbers are the turns"
    );
    // Without places they stand in their turn, each with its number where that is another.
    let turns = pages("sequence: [2, 1, 3]");
    let [(1, one), (2, two), (3, three)] = rings(&turns)[..] else {
        panic!("{:?}", rings(&turns))
    };
    assert!(one.y == three.y && one.x < two.x && two.x < three.x);
    let text = turns.iter().map(text_of).collect::<Vec<_>>().join(" ");
    assert!(text.contains("under a ring your own number"), "{text}");
}
