//! Valves with their springs, and what carries the lobes' lift to them: followers, push rods and
//! rockers, or tappets under a high camshaft.

use bevy::prelude::*;

use super::part::{PartKind, PartSpawner};
use super::units::placed;
use crate::description::Valve;
use crate::geometry::Layout;
use crate::geometry::bodies::{Place, valve_gear};
use crate::geometry::layout::CylinderPlace;
use crate::geometry::solids::Solids;
use crate::window::app::schedule::FrameSet;
use crate::window::session::bench::{Bench, generation_changed};

/// The valves and what moves them.
pub(crate) struct ValveGearPlugin;

impl Plugin for ValveGearPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            Update,
            spawn.in_set(FrameSet::Spawn).run_if(generation_changed),
        );
        app.add_systems(Update, turn.in_set(FrameSet::Move));
    }
}

/// A part that a valve's lift moves.
#[derive(Component)]
struct ValveGearPart {
    number: u8,
    valve: Valve,
    role: Role,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Role {
    Valve,
    Spring,
    /// With the push rod where the two move as one.
    Follower,
    /// Over a finger.
    PushRod,
    Rocker,
}

impl Role {
    const ALL: [Self; 5] = [
        Self::Valve,
        Self::Spring,
        Self::Follower,
        Self::PushRod,
        Self::Rocker,
    ];

    fn kind(self) -> PartKind {
        match self {
            Self::Valve | Self::Spring => PartKind::Valves,
            Self::Follower | Self::PushRod | Self::Rocker => PartKind::ValveGear,
        }
    }

    fn word(self, layout: &Layout) -> &'static str {
        match self {
            Self::Valve => "Valve",
            Self::Spring => "Valve spring",
            Self::Follower if valve_gear::moves_with_its_push_rod(layout) => {
                "Follower and push rod"
            }
            Self::Follower => "Follower",
            Self::PushRod => "Push rod",
            Self::Rocker => "Rocker",
        }
    }

    fn body(self, layout: &Layout, cylinder: &CylinderPlace, valve: Valve) -> Solids {
        match self {
            Self::Valve => valve_gear::valve(layout, valve),
            Self::Spring => valve_gear::spring(layout),
            Self::Follower => valve_gear::follower(layout, cylinder, valve),
            Self::PushRod if valve_gear::moves_with_its_push_rod(layout) => Solids::default(),
            Self::PushRod => valve_gear::push_rod(layout, cylinder, valve),
            Self::Rocker => valve_gear::rocker(layout, cylinder, valve),
        }
    }

    fn place(
        self,
        layout: &Layout,
        cylinder: &CylinderPlace,
        valve: Valve,
        lift_mm: f64,
    ) -> Option<Place> {
        Some(match self {
            Self::Valve => valve_gear::valve_place(layout, cylinder, valve, lift_mm),
            Self::Spring => valve_gear::spring_place(layout, cylinder, valve, lift_mm),
            Self::Follower => valve_gear::follower_place(layout, cylinder, valve, lift_mm),
            Self::PushRod => valve_gear::push_rod_place(layout, cylinder, valve, lift_mm),
            Self::Rocker => valve_gear::rocker_place(layout, cylinder, valve, lift_mm)?,
        })
    }
}

fn spawn(mut spawner: PartSpawner) {
    let layout = spawner.bench.layout().clone();
    for cylinder in &layout.cylinders {
        for valve in Valve::BOTH {
            for role in Role::ALL {
                let body = role.body(&layout, cylinder, valve);
                if body.is_empty() {
                    continue;
                }
                let mesh = spawner.body(&body);
                let (number, word) = (cylinder.number, role.word(&layout));
                let name = format!("{word}, No. {number} {}", valve.word());
                spawner
                    .spawn(role.kind(), number, name, mesh)
                    .insert(ValveGearPart {
                        number,
                        valve,
                        role,
                    });
            }
        }
    }
}

fn turn(bench: Res<Bench>, mut parts: Query<(&mut Transform, &ValveGearPart)>) {
    let layout = bench.layout();
    for (mut transform, part) in &mut parts {
        let index = usize::from(part.number).wrapping_sub(1);
        let Some((cylinder, pose)) = layout
            .cylinders
            .get(index)
            .zip(bench.pose().cylinders.get(index))
        else {
            continue;
        };
        let lift_mm = match part.valve {
            Valve::Intake => pose.intake_mm,
            Valve::Exhaust => pose.exhaust_mm,
        };
        if let Some(place) = part.role.place(layout, cylinder, part.valve, lift_mm) {
            *transform = placed(place);
        }
    }
}
