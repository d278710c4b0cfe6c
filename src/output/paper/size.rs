//! The paper and its margins.

use glam::DVec2;

/// The margin on either side.
pub(crate) const SIDE_MM: f64 = 14.0;
/// What the foot of the page takes.
pub(crate) const FOOT_MM: f64 = 16.0;

/// The paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    #[value(name = "A4")]
    A4,
    /// 8½ × 11 inches.
    #[value(name = "Letter", alias = "letter")]
    Letter,
}

impl Paper {
    pub(crate) fn size_mm(self) -> DVec2 {
        match self {
            Self::A4 => DVec2::new(210.0, 297.0),
            Self::Letter => DVec2::new(215.9, 279.4),
        }
    }
}
