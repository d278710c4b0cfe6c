//! The engine as a body: the shape and place of its parts, worked out from the description.
//!
//! Nothing here knows a screen. Millimetres; seen from the front x runs right and y up, z runs
//! towards the front.

pub mod bodies;
pub mod clock;
pub mod coarse;
pub mod contact;
pub mod crank_input;
pub mod follower_pose;
pub mod framing;
pub mod layout;
pub mod lobe_outline;
pub mod pins;
pub mod pose;
pub mod sight;
pub mod solids;
pub mod teeth;
pub mod timing_marks;

pub use layout::Layout;
pub use pose::Pose;
