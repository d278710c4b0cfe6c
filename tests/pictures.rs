//! Small pictures of the parts of the sheet and of the flat views, against those that were looked
//! at and kept in `tests/pictures/`.
//!
//! Compared in squares of four points by their mean grey: a renderer's way with edges is let pass,
//! a part that moved is not. To keep new ones after looking at them: `DOTWISE_PICTURES=keep cargo
//! test --no-default-features --test pictures`. Needs poppler-utils.

#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use std::path::PathBuf;
use std::process::Command;

use common::{scene_drawn, scene_engine};
use dotwise::angle::CrankAngle;
use dotwise::drawing::cap::Cap;
use dotwise::drawing::degree_wheel::DegreeWheel;
use dotwise::drawing::gear_face::GearFace;
use dotwise::drawing::lift_curves::LiftCurves;
use dotwise::drawing::stroke_ribbon::StrokeRibbon;
use dotwise::drawing::{Drawing, View, section};
use dotwise::engine::Assembly;
use dotwise::engine::scenes;
use dotwise::output::pdf;
use dotwise::output::sheet;
use dotwise::output::sheet::{SheetOptions, SheetPart};
use dotwise::phasing::Phasing;

struct Picture {
    wide: usize,
    grey: Vec<u8>,
}

impl Picture {
    /// The first page of a part, 36 points to the inch.
    fn of(phasing: &Phasing, part: SheetPart) -> Self {
        let pages = sheet::pages(
            phasing,
            &SheetOptions {
                only: vec![part],
                ..SheetOptions::default()
            },
        )
        .expect("pages");
        Self::drawn(&pages[0])
    }

    /// A drawing, 36 points to the inch.
    fn drawn(drawing: &Drawing) -> Self {
        let file = tempfile::Builder::new()
            .suffix(".pdf")
            .tempfile()
            .expect("a file");
        std::fs::write(
            file.path(),
            pdf::document("picture", std::slice::from_ref(drawing)).expect("a PDF"),
        )
        .expect("written");
        let answer = Command::new("pdftoppm")
            .args(["-r", "36", "-gray", "-singlefile"])
            .arg(file.path())
            .output()
            .expect("pdftoppm (Debian: poppler-utils) is needed");
        let mut fields = answer.stdout.splitn(4, u8::is_ascii_whitespace);
        assert_eq!(fields.next(), Some(&b"P5"[..]));
        let wide = std::str::from_utf8(fields.next().expect("a width"))
            .unwrap()
            .parse()
            .unwrap();
        fields.next();
        Self {
            wide,
            grey: fields.next().expect("points")[4..].to_vec(),
        }
    }

    fn kept(path: &PathBuf) -> Self {
        let file = std::io::BufReader::new(
            std::fs::File::open(path).unwrap_or_else(|error| panic!("{}: {error}", path.display())),
        );
        let mut reader = png::Decoder::new(file).read_info().expect("a PNG");
        let mut grey = vec![0; reader.output_buffer_size().expect("a size")];
        let frame = reader.next_frame(&mut grey).expect("a frame");
        assert_eq!(frame.color_type, png::ColorType::Grayscale);
        grey.truncate(frame.buffer_size());
        Self {
            wide: frame.width as usize,
            grey,
        }
    }

    fn keep(&self, path: &PathBuf) {
        let file = std::io::BufWriter::new(std::fs::File::create(path).expect("created"));
        let mut encoder =
            png::Encoder::new(file, self.wide as u32, (self.grey.len() / self.wide) as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_compression(png::Compression::High);
        encoder
            .write_header()
            .expect("a header")
            .write_image_data(&self.grey)
            .expect("written");
    }

    /// Mean grey in squares of four points.
    fn squares(&self) -> Vec<f64> {
        const SIDE: usize = 4;
        let high = self.grey.len() / self.wide;
        let mut means = Vec::new();
        for top in (0..high).step_by(SIDE) {
            for left in (0..self.wide).step_by(SIDE) {
                let rows = top..(top + SIDE).min(high);
                let points = rows.flat_map(|y| {
                    &self.grey[y * self.wide + left..y * self.wide + (left + SIDE).min(self.wide)]
                });
                let (sum, count) = points.fold((0.0, 0.0), |(sum, count), grey| {
                    (sum + f64::from(*grey), count + 1.0)
                });
                means.push(sum / count);
            }
        }
        means
    }

    /// How many in a thousand squares differ plainly.
    fn differs(&self, other: &Self) -> f64 {
        const PLAINLY: f64 = 40.0;
        if self.wide != other.wide || self.grey.len() != other.grey.len() {
            return 1000.0;
        }
        let (one, other) = (self.squares(), other.squares());
        let off = one
            .iter()
            .zip(&other)
            .filter(|(one, other)| (*one - *other).abs() > PLAINLY)
            .count();
        1000.0 * off as f64 / one.len() as f64
    }
}

#[test]
fn every_part_looks_as_it_did_when_it_was_looked_at() {
    /// In a thousand.
    const ALLOWED: f64 = 2.0;
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/pictures");
    let keep = std::env::var_os("DOTWISE_PICTURES").is_some();
    let phasing = Phasing::as_drawn(&scenes::BENCH.engine());
    let mut pictures = Vec::new();
    // The assembly sheet is the lesson's words, page after page: the words are looked for in
    // tests/paper.rs.
    let parts = SheetPart::ALL
        .into_iter()
        .filter(|part| *part != SheetPart::Assembly);
    for part in parts.clone() {
        let (picture, path) = (
            Picture::of(&phasing, part),
            folder.join(format!("{part:?}.png").to_lowercase()),
        );
        if keep {
            picture.keep(&path);
        }
        let differs = picture.differs(&Picture::kept(&path));
        assert!(
            differs <= ALLOWED,
            "{part:?}: {differs:.1} in a thousand squares are other than in {}",
            path.display()
        );
        pictures.push(picture);
    }
    // The measure tells the parts apart: another engine's cap, or another part, is not let pass.
    let other = Picture::of(&scene_drawn("vee_eight"), SheetPart::Cap);
    let cap = parts
        .clone()
        .position(|part| part == SheetPart::Cap)
        .expect("a cap");
    assert!(other.differs(&pictures[cap]) > ALLOWED);
    assert!(
        pictures
            .windows(2)
            .all(|pair| pair[0].differs(&pair[1]) > ALLOWED)
    );
}

#[test]
fn every_flat_view_looks_as_it_did_when_it_was_looked_at() {
    /// In a thousand: a view fills its picture, and each of its lines crosses few of the squares.
    const ALLOWED: f64 = 2.0;
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/pictures/views");
    let keep = std::env::var_os("DOTWISE_PICTURES").is_some();
    let out = Assembly {
        cam_teeth: 1,
        drive_teeth: -2,
        ..Assembly::default()
    };
    let drawn = Assembly::default();
    type Made = fn(&Phasing) -> Box<dyn View>;
    let gears: Made = |phasing| Box::new(GearFace::new(phasing));
    let cap: Made = |phasing| Box::new(Cap::new(phasing).expect("a cap"));
    let strokes: Made = |phasing| Box::new(StrokeRibbon::new(phasing));
    let wheel: Made = |phasing| Box::new(DegreeWheel::new(phasing, 1).expect("No. 1"));
    let lifts: Made = |phasing| Box::new(LiftCurves::new(phasing, 1).expect("No. 1"));
    let front: Made = |phasing| Box::new(section::FromTheFront::new(phasing));
    let along: Made = |phasing| Box::new(section::AlongTheCrank::new(phasing));
    let mut pictures: Vec<Picture> = Vec::new();
    for (name, made, scene, built) in [
        ("gears", gears, "bench_four", &drawn),
        ("gears_out", gears, "flat_four", &out),
        ("idler", gears, "hidden_marks", &drawn),
        ("chain", gears, "vee_eight", &drawn),
        ("cap", cap, "vee_eight", &drawn),
        ("cap_out", cap, "flat_four", &out),
        ("strokes", strokes, "vee_eight", &drawn),
        ("strokes_single", strokes, "single", &drawn),
        ("wheel", wheel, "flat_four", &drawn),
        ("lifts", lifts, "bench_four", &out),
        ("front_inline", front, "bench_four", &drawn),
        ("front_flat", front, "flat_four", &drawn),
        ("front_vee", front, "vee_eight", &drawn),
        ("along", along, "inline_six", &drawn),
    ] {
        let phasing = Phasing::as_built(&scene_engine(scene), built);
        let picture = Picture::drawn(&made(&phasing).at(&phasing.at(CrankAngle::new(40.0))));
        let path = folder.join(format!("{name}.png"));
        if keep {
            picture.keep(&path);
        }
        let differs = picture.differs(&Picture::kept(&path));
        assert!(
            differs <= ALLOWED,
            "{name}: {differs:.1} in a thousand squares are other than in {}",
            path.display()
        );
        assert!(
            pictures
                .iter()
                .all(|other| other.differs(&picture) > ALLOWED),
            "{name} looks like another"
        );
        pictures.push(picture);
    }
    // A crank turned by 10° shows.
    let phasing = scene_drawn("inline_six");
    let turned = Picture::drawn(&along(&phasing).at(&phasing.at(CrankAngle::new(50.0))));
    assert!(turned.differs(pictures.last().expect("a picture")) > ALLOWED);
}
