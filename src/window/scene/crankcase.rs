//! What holds the engine: the case, its main bearings, the heads, the tappets' guides, the
//! distributor's boss. None of it moves.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use crate::geometry::bodies::crankcase::{
    CasePart, case, distributor_boss, heads, main_bearings, tappet_guides,
};
use crate::geometry::solids::Solids;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::generation_changed;

/// The case, and what stands in it and on it.
pub(crate) struct CrankcasePlugin;

impl Plugin for CrankcasePlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
    }
}

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    let made = spawner.bench.engine().metric().case;
    for CasePart {
        name,
        glass,
        flange,
    } in case(&layout, made)
    {
        let mesh = spawner.body(&glass);
        let material = spawner.materials.glass.clone();
        spawner.spawn_of(PartKind::Crankcase, 0, name, mesh, material);
        spawn_opaque(&mut spawner, PartKind::Crankcase, name, &flange);
    }
    let mut guides = tappet_guides(&layout);
    if let Some(place) = &layout.distributor {
        guides.join(&distributor_boss(&layout, place), glam::DVec3::ZERO);
    }
    for (kind, name, body) in [
        (
            PartKind::Bearings,
            "Main bearings",
            main_bearings(&layout, made),
        ),
        (
            PartKind::Heads,
            "Head, with its guides and posts",
            heads(&layout),
        ),
        (
            PartKind::Crankcase,
            "Tappets' guides and distributor's boss",
            guides,
        ),
    ] {
        spawn_opaque(&mut spawner, kind, name, &body);
    }
}

fn spawn_opaque(spawner: &mut PartSpawner, kind: PartKind, name: &'static str, body: &Solids) {
    if !body.is_empty() {
        let mesh = spawner.body(body);
        spawner.spawn(kind, 0, name, mesh);
    }
}
