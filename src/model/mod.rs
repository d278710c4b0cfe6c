//! The engine as a body: the shape and place of its parts, worked out from the description.
//!
//! Nothing here knows a screen. Millimetres; seen from the front x runs right and y up, z runs
//! towards the front.
//!
//! | room | what it knows |
//! | --- | --- |
//! | [`layout`] | where every part stands |
//! | [`pose`] | where every moving part stands at a crank angle |
//! | [`teeth`] | wheels, and the loops round them |
//! | [`lobe_outline`] | cam lobes |
//! | [`framing`] | from where all of it is seen |
//! | [`barring`] | turning the engine over by hand |

pub mod barring;
pub mod framing;
pub mod layout;
pub mod lobe_outline;
pub mod pose;
pub mod teeth;

pub use layout::Layout;
pub use pose::Pose;
