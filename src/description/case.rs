//! The case that the crankshaft and the camshaft run in.

use serde::{Deserialize, Serialize};

use super::walk::Walk;

/// How the case is made: it settles what can be reached, and when.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Case {
    /// Two halves that part along the crankshaft: what runs between them is reached while they are
    /// apart, and not after.
    Split,
    /// One block, with a cover over the cam drive.
    OneBlock,
}

impl Walk for Case {}
