//! How far the build has got, and what is not in yet: chosen once, for every pane.

use bevy::prelude::*;

use crate::diagnosis::stage::{Sight, Stage};

/// What can be seen and reached on the builder's engine now.
#[derive(Resource, Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct BuildStage {
    pub(crate) stage: Stage,
    /// What is not in yet, or cannot be reached.
    pub(crate) without: Vec<Sight>,
}

impl BuildStage {
    pub(crate) fn sights(&self) -> Vec<Sight> {
        self.stage.sights_without(&self.without)
    }
}
