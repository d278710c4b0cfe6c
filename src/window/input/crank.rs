//! The hand: turning the engine over by the pulley, the wheel, the keys, a typed angle, or letting
//! it run slowly.

use bevy::input::mouse::{MouseScrollUnit, MouseWheel};
use bevy::picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings};
use bevy::prelude::*;
use bevy::window::{PrimaryWindow, RequestRedraw};
use bevy_panorbit_camera::PanOrbitCamera;
use egui::{RichText, Ui};
use glam::DVec3;

use crate::angle::{Clock, CrankTurn, Direction};
use crate::drawing::Role;
use crate::geometry::Layout;
use crate::geometry::crank_input::{Grip, Rests};
use crate::geometry::layout::clock_of;
use crate::window::app::schedule::FrameSet;
use crate::window::app::theme::{Palette, Theme};
use crate::window::app::viewport::EngineViewport;
use crate::window::lessons::answers_may_be_seen;
use crate::window::panes::{AddPane, Pane, Slot, always};
use crate::window::scene::camera::SetView;
use crate::window::scene::distributor::OnRotor;
use crate::window::scene::mesh::{UNIT, unit};
use crate::window::scene::pulley::Pulley;
use crate::window::session::bench::Bench;

/// The hand on the engine, and its strip along the bottom.
pub struct CrankInputPlugin;

impl Plugin for CrankInputPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<CrankInput>();
        app.add_systems(
            Update,
            (drag, wheel, keys, run).chain().in_set(FrameSet::Input),
        );
        app.add_pane(Pane {
            title: "CrankInput",
            slot: Slot::Bottom,
            there: always,
            show: strip,
        });
    }
}

/// How the hand turns the engine.
#[derive(Resource, Debug)]
pub struct CrankInput {
    /// Held lightly at dead centres and where the dots meet.
    catch: bool,
    /// Runs by itself.
    running: bool,
    /// How fast, turns of the crank a minute.
    turns_a_minute: f64,
    grip: Option<(Held, Grip)>,
    rests: Rests,
    typed: String,
}

/// What the hand has hold of.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Held {
    /// The crank, by its pulley.
    Pulley,
    /// The rotor, its drive out of the engine, at this height: seen from low down, another height
    /// lies behind the shaft.
    Rotor {
        /// Over the crank's axis.
        up_mm: f64,
    },
}

impl Held {
    /// Where on its round a pointer's ray meets what is held: a clock angle about its axis. None
    /// where it meets the axis, or nothing.
    fn clock(self, ray: Ray3d, layout: &Layout) -> Option<f64> {
        let (from, normal) = match (self, &layout.distributor) {
            (Self::Pulley, _) => (DVec3::new(0.0, 0.0, layout.pulley.z_mm), Vec3::Z),
            (Self::Rotor { up_mm }, Some(place)) => {
                (DVec3::new(place.cap.x, up_mm, place.cap.z), Vec3::Y)
            }
            (Self::Rotor { .. }, None) => return None,
        };
        let away = ray.intersect_plane(unit(from), InfinitePlane3d::new(normal))?;
        let off = ray.get_point(away) - unit(from);
        // From the front x runs right and y up; from above the cap's clock 0 lies to the rear.
        let place = if self == Self::Pulley {
            off.truncate()
        } else {
            Vec2::new(off.x, -off.z)
        };
        (place.length() > 1e-3).then(|| clock_of(place.as_dvec2()))
    }
}

impl Default for CrankInput {
    fn default() -> Self {
        Self {
            catch: true,
            running: false,
            turns_a_minute: 6.0,
            grip: None,
            rests: Rests::default(),
            typed: String::new(),
        }
    }
}

impl CrankInput {
    /// Lets the engine run, or stops it.
    pub fn run(&mut self, running: bool) {
        self.running = running;
    }

    /// The engine is about to be turned away from where it stands: undo comes back there.
    pub fn leave(&mut self, bench: &Bench) {
        self.rests.leave(bench.turned_deg());
    }

    fn turn_to(&mut self, bench: &mut Bench, turned_deg: f64) {
        self.rests.leave(bench.turned_deg());
        bench.turn_to(turned_deg);
    }
}

/// Drags the pulley, and the crank with it; or the rotor, where its drive is out of the engine.
fn drag(
    buttons: Res<ButtonInput<MouseButton>>,
    windows: Query<&Window, With<PrimaryWindow>>,
    eyes: Query<(&Camera, &GlobalTransform), With<PanOrbitCamera>>,
    pulleys: Query<(), With<Pulley>>,
    rotors: Query<(), With<OnRotor>>,
    mut rays: MeshRayCast,
    mut middle: ResMut<EngineViewport>,
    mut hand: ResMut<CrankInput>,
    mut bench: ResMut<Bench>,
) {
    if !buttons.pressed(MouseButton::Left) {
        if hand.grip.take().is_some() {
            middle.hold(false);
        }
        return;
    }
    let (Ok(window), Ok((camera, eye))) = (windows.single(), eyes.single()) else {
        return;
    };
    let Some(ray) = window
        .cursor_position()
        .and_then(|at| camera.viewport_to_world(eye, at).ok())
    else {
        return;
    };
    if let Some((held, grip)) = &mut hand.grip {
        let Some(free) = held
            .clock(ray, bench.layout())
            .map(|clock| grip.follow(clock))
        else {
            return;
        };
        match held {
            Held::Rotor { .. } => bench.hold_rotor(Clock::new(free)),
            Held::Pulley => {
                let turned = if hand.catch {
                    bench.detents().held(free)
                } else {
                    free
                };
                if turned != bench.turned_deg() {
                    bench.turn_to(turned);
                }
            }
        }
        return;
    }
    if !buttons.just_pressed(MouseButton::Left) || middle.pointer().is_none() {
        return;
    }
    // The rotor is taken hold of through its cap.
    let cap = |entity: Entity| pulleys.contains(entity) || rotors.contains(entity);
    let settings = MeshRayCastSettings::default();
    let through = rays
        .cast_ray(ray, &settings.clone().with_filter(&cap))
        .first()
        .map(|(entity, hit)| (*entity, hit.point));
    let first = rays
        .cast_ray(ray, &settings)
        .first()
        .map(|(entity, _)| *entity);
    let on_rotor = through
        .filter(|(entity, _)| rotors.contains(*entity))
        .map(|(_, point)| f64::from(point.y) * UNIT);
    let (held, direction, from) = match (bench.rotor_held(), on_rotor) {
        (Some(rotor), Some(up_mm)) => {
            (Held::Rotor { up_mm }, Direction::Clockwise, rotor.degrees())
        }
        _ if first.is_some_and(|entity| pulleys.contains(entity)) => (
            Held::Pulley,
            bench.phasing().crank_direction(),
            bench.turned_deg(),
        ),
        _ => return,
    };
    let Some(clock) = held.clock(ray, bench.layout()) else {
        return;
    };
    hand.grip = Some((held, Grip::on(direction, clock, from)));
    if held == Held::Pulley {
        hand.running = false;
        hand.leave(&bench);
    }
    middle.hold(true);
}

/// The wheel turns the engine where Ctrl is held; else it is the eye's.
fn wheel(
    mut wheels: MessageReader<MouseWheel>,
    keys: Res<ButtonInput<KeyCode>>,
    middle: Res<EngineViewport>,
    mut hand: ResMut<CrankInput>,
    mut bench: ResMut<Bench>,
) {
    let mut steps = 0.0;
    for wheel in wheels.read() {
        steps += match wheel.unit {
            MouseScrollUnit::Line => f64::from(wheel.y),
            MouseScrollUnit::Pixel => f64::from(wheel.y) / 24.0,
        };
    }
    let zooms = keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]);
    if steps != 0.0 && !zooms && middle.pointer().is_some() {
        let step = if keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]) {
            10.0
        } else {
            2.0
        };
        let to = bench.turned_deg() + steps * step;
        hand.turn_to(&mut bench, to);
    }
}

fn keys(
    pressed: Res<ButtonInput<KeyCode>>,
    time: Res<Time<Real>>,
    middle: Res<EngineViewport>,
    mut hand: ResMut<CrankInput>,
    mut bench: ResMut<Bench>,
    mut looks: MessageWriter<SetView>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut held_s: Local<f32>,
) {
    if !middle.has_keys() {
        return;
    }
    // Where frames are slow a key may come and go within one.
    let held = |keys: [KeyCode; 2]| pressed.any_pressed(keys) || pressed.any_just_released(keys);
    let shift = held([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    let ctrl = held([KeyCode::ControlLeft, KeyCode::ControlRight]);
    let step = match (shift, ctrl) {
        (true, _) => 10.0,
        (false, true) => 0.1,
        (false, false) => 1.0,
    };
    let arrow = |key: [KeyCode; 2]| (pressed.any_just_pressed(key), pressed.any_pressed(key));
    let (on, on_held) = arrow([KeyCode::ArrowRight, KeyCode::ArrowUp]);
    let (back, back_held) = arrow([KeyCode::ArrowLeft, KeyCode::ArrowDown]);
    // A held key goes on after a moment, thirty steps a second at most.
    *held_s = if on_held || back_held {
        *held_s + time.delta_secs()
    } else {
        0.0
    };
    if on_held || back_held {
        redraw.write(RequestRedraw);
    }
    let again = *held_s > 0.4;
    if again {
        *held_s -= 1.0 / 30.0;
    }
    let way = f64::from(i8::from(on || again && on_held))
        - f64::from(i8::from(back || again && back_held));
    if way != 0.0 {
        // Rounded, so that a hundred tenths are ten degrees.
        let to = ((bench.turned_deg() + way * step) * 1e6).round() / 1e6;
        hand.turn_to(&mut bench, to);
    }
    if (pressed.just_pressed(KeyCode::PageUp) || !ctrl && pressed.just_pressed(KeyCode::KeyN))
        && let Some(to) = bench.dead_centres().next(bench.turned_deg())
    {
        hand.turn_to(&mut bench, to);
    }
    if (pressed.just_pressed(KeyCode::PageDown) || !ctrl && pressed.just_pressed(KeyCode::KeyL))
        && let Some(to) = bench.dead_centres().last(bench.turned_deg())
    {
        hand.turn_to(&mut bench, to);
    }
    if pressed.just_pressed(KeyCode::Space) && middle.has_space() {
        hand.running = !hand.running;
        hand.leave(&bench);
    }
    for (key, look) in SetView::KEYS.into_iter().zip(SetView::ALL) {
        if pressed.just_pressed(key) && look.is_there(bench.layout()) {
            looks.write(look);
        }
    }
}

/// Runs the engine in its own direction.
fn run(
    time: Res<Time<Real>>,
    hand: Res<CrankInput>,
    mut bench: ResMut<Bench>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if hand.running {
        // After a pause (a dragged window, a suspended machine) the engine does not jump.
        let seconds = f64::min(time.delta_secs_f64(), 0.1);
        bench.turn_by(CrankTurn::new(hand.turns_a_minute * 6.0 * seconds));
        redraw.write(RequestRedraw);
    }
}

/// The strip along the bottom.
fn strip(ui: &mut Ui, world: &mut World) {
    let by_the_mark = !answers_may_be_seen(world);
    world.resource_scope(|world, mut hand: Mut<CrankInput>| {
        let mut bench = world.resource_mut::<Bench>();
        ui.horizontal_wrapped(|ui| {
            turning(ui, &mut hand, bench.bypass_change_detection(), by_the_mark)
                .then(|| bench.set_changed())
        });
        slack(ui, &bench);
    });
}

/// The buttons; true where the crank was turned. While a question is open the crank is given
/// `by_the_mark` alone: which turn it is on would answer it.
fn turning(ui: &mut Ui, hand: &mut CrankInput, bench: &mut Bench, by_the_mark: bool) -> bool {
    let from = bench.turned_deg();
    if ui
        .button("◀ Last dead centre")
        .on_hover_text("Page Down")
        .clicked()
        && let Some(to) = bench.dead_centres().last(from)
    {
        hand.turn_to(bench, to);
    }
    if ui
        .button("Next dead centre ▶")
        .on_hover_text("Page Up")
        .clicked()
        && let Some(to) = bench.dead_centres().next(from)
    {
        hand.turn_to(bench, to);
    }
    ui.separator();
    let (shown, told) = match by_the_mark {
        true => (
            bench.crank().by_the_mark(),
            "Past No. 1's mark: it cannot tell the turn",
        ),
        false => (bench.crank().degrees(), "From No. 1's firing TDC"),
    };
    ui.label(RichText::new(format!("{shown:.1}°")).strong().monospace())
        .on_hover_text(told);
    let field = egui::TextEdit::singleline(&mut hand.typed)
        .desired_width(62.0 * Theme::of(ui.ctx()).type_size.times())
        .hint_text("degrees");
    let entered = ui
        .add(field)
        .on_hover_text("Crank degrees from No. 1's firing TDC; Enter turns on to it");
    if entered.lost_focus()
        && ui.input(|input| input.key_pressed(egui::Key::Enter))
        && let Ok(degrees) = hand.typed.trim().trim_end_matches('°').parse::<f64>()
        && degrees.is_finite()
    {
        let turn = bench.crank().on_to(crate::angle::CrankAngle::new(degrees));
        hand.turn_to(bench, from + turn.degrees());
        hand.typed.clear();
    }
    ui.separator();
    let words = if hand.running { "Stop" } else { "Run slowly" };
    if ui.button(words).on_hover_text("Space").clicked() {
        hand.running = !hand.running;
        hand.rests.leave(from);
    }
    ui.add(
        egui::Slider::new(&mut hand.turns_a_minute, 0.5..=120.0)
            .logarithmic(true)
            .suffix(" rpm")
            .fixed_decimals(1),
    );
    ui.checkbox(&mut hand.catch, "Catch")
        .on_hover_text("A light catch at dead centres and where the dots meet");
    let again = |ui: &mut Ui, words: &str, hover: &str, any: bool| {
        ui.add_enabled(any, egui::Button::new(words))
            .on_hover_text(hover)
            .clicked()
    };
    let to = if again(
        ui,
        "Undo turn",
        "Back to where the crank stood before",
        hand.rests.can_undo(),
    ) {
        hand.rests.undo(from)
    } else if again(
        ui,
        "Redo turn",
        "On again to where it stood",
        hand.rests.can_redo(),
    ) {
        hand.rests.redo(from)
    } else {
        None
    };
    if let Some(to) = to {
        hand.running = false;
        bench.turn_to(to);
    }
    bench.turned_deg() != from
}

/// Says when the slack lies on the wrong side.
fn slack(ui: &mut Ui, bench: &Bench) {
    let palette = Palette::of(ui.ctx());
    let words = if bench.slack().is_wrong() {
        let on = bench.slack().to_take_up().degrees();
        RichText::new(format!(
            "Turned back: the drive's slack now lies on the wrong side, and marks, valves and rotor read late by it. Turn on {on:.0}° in the running direction before you read."
        ))
        .color(palette.ink(Role::Caution))
    } else {
        RichText::new("Turned in the running direction: the slack lies where it runs. On a real engine: ignition off, battery off, never force a crank that stops.")
            .color(palette.faint)
    };
    ui.add(egui::Label::new(words).wrap());
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use bevy::time::TimeUpdateStrategy;

    use super::*;
    use crate::engine::Assembly;
    use crate::engine::scenes;
    use crate::engine::scenes::BENCH;

    fn app(scene: &scenes::Scene) -> App {
        let mut app = App::new();
        app.add_plugins(MinimalPlugins);
        app.init_resource::<ButtonInput<KeyCode>>()
            .init_resource::<CrankInput>();
        app.add_message::<MouseWheel>()
            .add_message::<SetView>()
            .add_message::<RequestRedraw>();
        app.insert_resource(Bench::new(&scene.engine(), &Assembly::default()))
            .insert_resource(EngineViewport::all_free());
        app.insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_millis(
            50,
        )));
        app.add_systems(Update, (wheel, keys, run).chain());
        app.update();
        app
    }

    fn press(app: &mut App, keys: &[KeyCode]) {
        keys.iter().for_each(|&key| {
            app.world_mut()
                .resource_mut::<ButtonInput<KeyCode>>()
                .press(key)
        });
        app.update();
        let mut input = app.world_mut().resource_mut::<ButtonInput<KeyCode>>();
        input.release_all();
        input.clear();
    }

    fn turned(app: &App) -> f64 {
        app.world().resource::<Bench>().turned_deg()
    }

    #[test]
    fn arrow_keys_turn_by_one_by_ten_and_by_a_tenth() {
        let mut app = app(BENCH);
        press(&mut app, &[KeyCode::ArrowRight]);
        assert_eq!(turned(&app), 1.0);
        press(&mut app, &[KeyCode::ShiftLeft, KeyCode::ArrowRight]);
        assert_eq!(turned(&app), 11.0);
        press(&mut app, &[KeyCode::ControlLeft, KeyCode::ArrowLeft]);
        assert_eq!(turned(&app), 10.9);
    }

    #[test]
    fn a_rotor_held_from_low_down_goes_the_way_the_hand_goes() {
        let layout = Layout::of(&scenes::find("flat_four").expect("a scene").engine());
        let place = layout.distributor.expect("a distributor");
        // Its tip towards the eye, well over the cap's underside, as it stands lifted out.
        let tip = place.cap
            + DVec3::new(
                0.0,
                place.lift_mm + 0.3 * place.radius_mm,
                0.6 * place.radius_mm,
            );
        let held = Held::Rotor { up_mm: tip.y };
        let at = |right_mm: f64| {
            let through = unit(tip + DVec3::X * right_mm);
            let way = Vec3::new(0.0, -0.2_f32.sin(), -0.2_f32.cos());
            held.clock(
                Ray3d::new(through - way * 10.0, Dir3::new(way).expect("a way")),
                &layout,
            )
            .expect("a clock")
        };
        approx::assert_abs_diff_eq!(at(0.0), 180.0, epsilon = 0.01);
        // From above, what goes right on the near side goes from 180 towards 90.
        assert!((120.0..175.0).contains(&at(10.0)), "{}", at(10.0));
        assert!((185.0..240.0).contains(&at(-10.0)), "{}", at(-10.0));
    }

    #[test]
    fn a_hundred_tenths_are_ten_degrees() {
        let mut app = app(BENCH);
        for _ in 0..100 {
            press(&mut app, &[KeyCode::ControlLeft, KeyCode::ArrowRight]);
        }
        assert_eq!(turned(&app), 10.0);
    }

    #[test]
    fn page_up_goes_to_the_next_dead_centre_and_page_down_to_the_last() {
        let mut app = app(BENCH);
        press(&mut app, &[KeyCode::PageUp]);
        assert_eq!(turned(&app), 180.0);
        press(&mut app, &[KeyCode::PageDown]);
        press(&mut app, &[KeyCode::PageDown]);
        assert_eq!(turned(&app), -180.0);
    }

    #[test]
    fn it_runs_in_the_engines_own_direction_and_as_fast_as_it_is_told() {
        for name in ["bench_four", "anticlockwise"] {
            let mut app = app(scenes::find(name).expect("a scene"));
            press(&mut app, &[KeyCode::Space]);
            let from = turned(&app);
            for _ in 0..20 {
                app.update();
            }
            // A second at 6 rpm is 36°, forwards whichever way that is for the eye.
            approx::assert_abs_diff_eq!(turned(&app) - from, 36.0, epsilon = 1e-6);
        }
    }

    #[test]
    fn the_wheel_turns_the_engine_and_with_ctrl_leaves_it_alone() {
        let mut app = app(BENCH);
        let notch = || MouseWheel {
            unit: MouseScrollUnit::Line,
            x: 0.0,
            y: 1.0,
            window: Entity::PLACEHOLDER,
            phase: bevy::input::touch::TouchPhase::Moved,
        };
        app.world_mut().write_message(notch());
        app.update();
        assert_eq!(turned(&app), 2.0);
        app.world_mut().write_message(notch());
        press(&mut app, &[KeyCode::ControlLeft]);
        assert_eq!(turned(&app), 2.0);
    }
}
