//! What is made of the engine on the bench for elsewhere: sheets for the bench, a handout for the
//! club, a picture. Each is asked where to, made on a thread of its own, and written whole or not at
//! all.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use bevy::prelude::*;

use crate::document::workspace::Notice;
use crate::output::paper::Paper;
use crate::output::sheet::{self, SheetOptions};
use crate::output::{file, handout, pdf};
use crate::phasing::Phasing;
use crate::window::app::dialogs::{Dialog, DialogResult, TypedPath, Wake};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ExportKind {
    /// Every sheet, as PDF.
    Sheets,
    /// One HTML file.
    Handout,
    /// The middle of the window as it is seen, as PNG.
    Picture,
}

impl ExportKind {
    /// In the order they are offered.
    pub(crate) const ALL: [Self; 3] = [Self::Sheets, Self::Handout, Self::Picture];

    /// Its name in the menu.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Sheets => "Print…",
            Self::Handout => "Handout…",
            Self::Picture => "Picture…",
        }
    }

    /// What it makes, in a sentence.
    pub(crate) fn what(self) -> &'static str {
        match self {
            Self::Sheets => "Card, job, marks, cap, valves, degree wheel and strip, as PDF",
            Self::Handout => "The engine as one HTML file, for a phone at the club",
            Self::Picture => "The engine, or the enlarged view, as it is seen now, as PNG",
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Sheets => "Write the sheets as",
            Self::Handout => "Write the handout as",
            Self::Picture => "Write the picture as",
        }
    }

    fn files(self) -> (&'static str, &'static [&'static str]) {
        match self {
            Self::Sheets => ("PDF", &["pdf"]),
            Self::Handout => ("HTML", &["html", "htm"]),
            Self::Picture => ("PNG", &["png"]),
        }
    }

    /// What is written, as a notice calls it.
    fn noun(self) -> &'static str {
        match self {
            Self::Sheets => "The sheets are",
            Self::Handout => "The handout is",
            Self::Picture => "The picture is",
        }
    }
}

/// Where something is to be written, and whether the user agreed to have a file replaced.
#[derive(Clone, Debug)]
struct Target {
    path: PathBuf,
    may_replace: bool,
}

/// What came of a file, put here by another thread.
type Outcome = Arc<OnceLock<Notice>>;

/// What is being made.
#[derive(Resource)]
pub(crate) struct Export {
    dialog: Option<(ExportKind, Dialog)>,
    /// A path being typed, where no dialog could be had.
    pub(crate) typing: Option<(ExportKind, TypedPath)>,
    /// What the file that is open is called, without its ending, and beside what.
    suggested: PathBuf,
    /// The picture is to be taken in the next frame.
    picture: Option<Target>,
    /// It is being taken.
    taking: Option<Target>,
    writing: Vec<Outcome>,
    wake: Wake,
}

impl Export {
    /// Nothing yet; `wake` draws the window anew from another thread.
    pub(crate) fn new(wake: Wake) -> Self {
        Self {
            dialog: None,
            typing: None,
            suggested: PathBuf::new(),
            picture: None,
            taking: None,
            writing: Vec::new(),
            wake,
        }
    }

    /// Asks where it is to be written; `beside` is the open file, or a name for it.
    pub(crate) fn choose(&mut self, kind: ExportKind, beside: &Path) {
        if self.dialog.is_some() {
            return;
        }
        let ending = kind.files().1.first().copied().unwrap_or_default();
        self.suggested = beside.with_extension(ending);
        let dialog = Dialog::to_save(kind.title(), kind.files(), &self.suggested, &self.wake);
        self.dialog = Some((kind, dialog));
    }

    /// Takes in what dialogs and threads answered; gives what there is to say.
    pub(crate) fn take_news(&mut self, phasing: &Phasing) -> Option<Notice> {
        if let Some((kind, answer)) = self.answer() {
            self.dialog = None;
            match answer {
                DialogResult::Path(path) => self.write(kind, phasing, path, true),
                DialogResult::Cancelled => {}
                DialogResult::NoDialog => {
                    let path = self.suggested.display().to_string();
                    self.typing = Some((kind, TypedPath { path, saving: true }));
                }
            }
        }
        let done = self
            .writing
            .iter()
            .position(|outcome| outcome.get().is_some())?;
        self.writing.swap_remove(done).get().cloned()
    }

    fn answer(&self) -> Option<(ExportKind, DialogResult)> {
        let (kind, dialog) = self.dialog.as_ref()?;
        Some((*kind, dialog.answer()?))
    }

    /// A path was typed, or was not.
    pub(crate) fn typed(&mut self, phasing: &Phasing, path: Option<PathBuf>) {
        if let (Some((kind, _)), Some(path)) = (self.typing.take(), path) {
            self.write(kind, phasing, path, false);
        }
    }

    fn write(&mut self, kind: ExportKind, phasing: &Phasing, path: PathBuf, may_replace: bool) {
        let target = Target { path, may_replace };
        let (engine, assembly) = (Arc::clone(phasing.engine()), phasing.assembly().clone());
        let built = move || Phasing::as_built(&engine, &assembly);
        match kind {
            ExportKind::Sheets => self.make(kind, target, move || sheets(&built())),
            ExportKind::Handout => self.make(kind, target, move || {
                let page = handout::document(&built(), false);
                page.map(String::into_bytes)
                    .map_err(|error| error.to_string())
            }),
            ExportKind::Picture => self.picture = Some(target),
        }
    }

    /// Makes it on another thread.
    fn make(
        &mut self,
        kind: ExportKind,
        target: Target,
        make: impl FnOnce() -> Result<Vec<u8>, String> + Send + 'static,
    ) {
        let outcome = Outcome::default();
        self.writing.push(Arc::clone(&outcome));
        let wake = Arc::clone(&self.wake);
        std::thread::spawn(move || {
            let path = &target.path;
            let written = make().and_then(|bytes| {
                file::whole(path, &bytes, target.may_replace).map_err(|error| error.to_string())
            });
            outcome.get_or_init(|| match written {
                Ok(()) => Notice::Done(format!("{} in {}.", kind.noun(), path.display())),
                Err(why) => Notice::Failed(format!("Not written: {why}.")),
            });
            wake();
        });
    }

    /// Begins to take the picture that is wanted; false where none is.
    pub(crate) fn begin_picture(&mut self) -> bool {
        if self.picture.is_some() && self.taking.is_none() {
            self.taking = self.picture.take();
            return true;
        }
        false
    }

    /// Whether a picture is being taken: nothing lies over the engine meanwhile.
    pub(crate) fn is_taking(&self) -> bool {
        self.taking.is_some()
    }

    /// The window was pictured: `part` of it is written.
    pub(crate) fn pictured(&mut self, image: Image, part: URect) {
        if let Some(target) = self.taking.take() {
            self.make(ExportKind::Picture, target, move || png(image, part));
        }
    }
}

fn sheets(phasing: &Phasing) -> Result<Vec<u8>, String> {
    let options = SheetOptions {
        paper: Paper::default(),
        ..SheetOptions::default()
    };
    let pages = sheet::pages(phasing, &options).map_err(|error| error.to_string())?;
    let title = format!("{}, on paper", phasing.engine().name());
    pdf::document(&title, &pages).map_err(|error| error.to_string())
}

/// A part of an image as a PNG file.
fn png(image: Image, part: URect) -> Result<Vec<u8>, String> {
    let whole = image
        .try_into_dynamic()
        .map_err(|error| error.to_string())?
        .to_rgb8();
    let part = part.intersect(URect::new(0, 0, whole.width(), whole.height()));
    if part.is_empty() {
        return Err("there is nothing to be seen".to_owned());
    }
    let pixels: Vec<u8> = (part.min.y..part.max.y)
        .flat_map(|y| (part.min.x..part.max.x).map(move |x| (x, y)))
        .flat_map(|(x, y)| whole.get_pixel(x, y).0)
        .collect();
    encoded(part, &pixels).map_err(|error| error.to_string())
}

fn encoded(part: URect, pixels: &[u8]) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, part.width(), part.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use bevy::asset::RenderAssetUsages;
    use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};

    use super::*;
    use crate::engine::scenes::BENCH;

    fn export() -> (Export, Phasing) {
        let export = Export::new(Arc::new(|| ()));
        (export, Phasing::as_drawn(&BENCH.engine()))
    }

    /// Waits for what there is to say, for a minute at most.
    fn said(export: &mut Export, phasing: &Phasing) -> Option<Notice> {
        let since = Instant::now();
        while since.elapsed() < Duration::from_secs(60) {
            if let Some(notice) = export.take_news(phasing) {
                return Some(notice);
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        None
    }

    fn typing(kind: ExportKind) -> Option<(ExportKind, TypedPath)> {
        let path = TypedPath {
            path: String::new(),
            saving: true,
        };
        Some((kind, path))
    }

    #[test]
    fn sheets_and_handout_are_written_where_they_were_asked_for_and_over_no_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let (mut export, phasing) = export();
        for (kind, name, begins) in [
            (ExportKind::Sheets, "four.pdf", "%PDF-"),
            (ExportKind::Handout, "four.html", "<!doctype html>"),
        ] {
            let path = folder.path().join(name);
            export.typing = typing(kind);
            export.typed(&phasing, Some(path.clone()));
            let notice = said(&mut export, &phasing);
            assert!(matches!(notice, Some(Notice::Done(_))), "{notice:?}");
            let bytes = std::fs::read(&path).expect("written");
            let start = String::from_utf8_lossy(&bytes[..begins.len()]).to_lowercase();
            assert_eq!(start, begins.to_lowercase());
            export.typing = typing(kind);
            export.typed(&phasing, Some(path));
            let again = said(&mut export, &phasing);
            assert!(matches!(again, Some(Notice::Failed(_))), "{again:?}");
        }
    }

    #[test]
    fn a_picture_is_the_part_of_the_window_that_was_asked_for() {
        let pixels: Vec<u8> = (0..16_u8)
            .flat_map(|at| [at, 2 * at, 3 * at, 255])
            .collect();
        let size = Extent3d {
            width: 4,
            height: 4,
            depth_or_array_layers: 1,
        };
        let image = Image::new(
            size,
            TextureDimension::D2,
            pixels,
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::default(),
        );
        let bytes = png(image, URect::new(1, 2, 3, 9)).expect("a picture");
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
            .read_info()
            .expect("a PNG");
        let mut read = vec![0; reader.output_buffer_size().expect("a size")];
        let info = reader.next_frame(&mut read).expect("a frame");
        assert_eq!((info.width, info.height), (2, 2));
        let first: Vec<u8> = read.chunks_exact(3).map(|pixel| pixel[0]).collect();
        assert_eq!(first[..4], [9, 10, 13, 14]);
    }
}
