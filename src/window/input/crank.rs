//! Turning the crank: by dragging the pulley, by the mouse wheel, by keys, or by letting it run
//! slowly. Where the distributor is out of the engine, its rotor is dragged in the same way.

use bevy::input::ButtonState;
use bevy::input::keyboard::{KeyboardFocusLost, KeyboardInput};
use bevy::input::mouse::{MouseScrollUnit, MouseWheel};
use bevy::picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings};
use bevy::prelude::*;
use bevy::window::RequestRedraw;
use glam::DVec3;

use crate::angle::{Clock, CrankTurn, Direction};
use crate::geometry::Layout;
use crate::geometry::crank_input::Drag;
use crate::geometry::layout::clock_of;
use crate::history::History;
use crate::window::app::schedule::FrameSet;
use crate::window::app::viewport::EngineViewport;
use crate::window::scene::camera::{PointerRay, SetView};
use crate::window::scene::distributor::OnRotor;
use crate::window::scene::pulley::Pulley;
use crate::window::scene::units::{UNIT_MM, unit};
use crate::window::session::bench::Bench;

/// Turning the crank by pointer and keys.
pub(crate) struct CrankInputPlugin;

impl Plugin for CrankInputPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<CrankInput>();
        app.add_systems(
            Update,
            (drag, wheel, keys, run).chain().in_set(FrameSet::Input),
        );
    }
}

/// How the crank is being turned.
#[derive(Resource, Debug)]
pub(crate) struct CrankInput {
    /// A drag stops at detents.
    pub(crate) detents: bool,
    /// The crank turns by itself.
    pub(crate) running: bool,
    /// How fast it then turns, crank turns a minute.
    pub(crate) turns_a_minute: f64,
    drag: Option<(Dragged, Drag)>,
    /// Where the crank has stood.
    pub(crate) history: History<f64>,
}

impl Default for CrankInput {
    fn default() -> Self {
        Self {
            detents: true,
            running: false,
            turns_a_minute: 6.0,
            drag: None,
            history: History::default(),
        }
    }
}

impl CrankInput {
    /// Starts the crank turning by itself, or stops it. Undo comes back to where it stands now.
    pub(crate) fn toggle_running(&mut self, bench: &Bench) {
        self.running = !self.running;
        self.history.push(bench.turned_deg());
    }

    /// Stops a crank that turns by itself. Undo comes back to where it stands now.
    pub(crate) fn stop(&mut self, bench: &Bench) {
        self.running = false;
        self.history.push(bench.turned_deg());
    }

    /// Sets the crank to `turned_deg`, which is not turning it by hand. Undo comes back to where it
    /// stands now.
    pub(crate) fn pose_to(&mut self, bench: &mut Bench, turned_deg: f64) {
        self.history.push(bench.turned_deg());
        bench.pose_to(turned_deg);
    }

    /// Turns the crank to `turned_deg`. Undo comes back to where it stands now.
    pub(crate) fn turn_to(&mut self, bench: &mut Bench, turned_deg: f64) {
        self.history.push(bench.turned_deg());
        bench.turn_to(turned_deg);
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Dragged {
    /// The crank, by its pulley.
    Pulley,
    /// The rotor of a distributor that is out of the engine, by a point this far above the crank's
    /// axis: seen from low down, a point at another height would lie behind the shaft.
    Rotor { up_mm: f64 },
}

impl Dragged {
    /// The clock angle, about the axis of what is dragged, at which a pointer's ray meets its
    /// plane. None where the ray misses the plane or meets it on the axis.
    fn clock(self, ray: Ray3d, layout: &Layout) -> Option<f64> {
        let (centre, normal) = match (self, &layout.distributor) {
            (Self::Pulley, _) => (DVec3::new(0.0, 0.0, layout.pulley.z_mm), Vec3::Z),
            (Self::Rotor { up_mm }, Some(place)) => {
                (DVec3::new(place.cap.x, up_mm, place.cap.z), Vec3::Y)
            }
            (Self::Rotor { .. }, None) => return None,
        };
        let distance = ray.intersect_plane(unit(centre), InfinitePlane3d::new(normal))?;
        let off = ray.get_point(distance) - unit(centre);
        // From the front x runs right and y up; from above the cap's clock 0 lies to the rear.
        let off = match self {
            Self::Pulley => off.truncate(),
            Self::Rotor { .. } => Vec2::new(off.x, -off.z),
        };
        (off.length() > 1e-3).then(|| clock_of(off.as_dvec2()))
    }
}

/// Drags the pulley, and the crank with it; or the rotor, where its drive is out of the engine.
fn drag(
    buttons: Res<ButtonInput<MouseButton>>,
    pointer: PointerRay,
    pulleys: Query<(), With<Pulley>>,
    rotors: Query<(), With<OnRotor>>,
    mut rays: MeshRayCast,
    mut viewport: ResMut<EngineViewport>,
    mut input: ResMut<CrankInput>,
    mut bench: ResMut<Bench>,
) {
    if !buttons.pressed(MouseButton::Left) {
        if input.drag.take().is_some() {
            viewport.set_dragging(false);
        }
        return;
    }
    let Some(ray) = pointer.ray() else { return };
    let detents = input.detents;
    if let Some((dragged, drag)) = &mut input.drag {
        let Some(clock) = dragged.clock(ray, bench.layout()) else {
            return;
        };
        let free_deg = drag.to(clock);
        match dragged {
            Dragged::Rotor { .. } => bench.hold_rotor(Clock::new(free_deg)),
            Dragged::Pulley => {
                let turned_deg = if detents {
                    bench.detents().snap(free_deg)
                } else {
                    free_deg
                };
                if turned_deg != bench.turned_deg() {
                    bench.turn_to(turned_deg);
                }
            }
        }
        return;
    }
    if !buttons.just_pressed(MouseButton::Left) || viewport.pointer().is_none() {
        return;
    }
    let Some(drag) = start_drag(ray, &mut rays, &pulleys, &rotors, &bench) else {
        return;
    };
    if drag.0 == Dragged::Pulley {
        input.stop(&bench);
    }
    input.drag = Some(drag);
    viewport.set_dragging(true);
}

/// What a press along `ray` begins to drag: the rotor, through its cap, while it is out of the
/// engine; or the pulley, where nothing stands before it.
fn start_drag(
    ray: Ray3d,
    rays: &mut MeshRayCast,
    pulleys: &Query<(), With<Pulley>>,
    rotors: &Query<(), With<OnRotor>>,
    bench: &Bench,
) -> Option<(Dragged, Drag)> {
    let can_be_dragged = |entity: Entity| pulleys.contains(entity) || rotors.contains(entity);
    let settings = MeshRayCastSettings::default();
    let on_rotor = rays
        .cast_ray(ray, &settings.clone().with_filter(&can_be_dragged))
        .first()
        .filter(|(entity, _)| rotors.contains(*entity))
        .map(|(_, hit)| f64::from(hit.point.y) * UNIT_MM);
    let (dragged, direction, from_deg) = match (bench.rotor_held(), on_rotor) {
        (Some(rotor), Some(up_mm)) => (
            Dragged::Rotor { up_mm },
            Direction::Clockwise,
            rotor.degrees(),
        ),
        _ => {
            let (first, _) = rays.cast_ray(ray, &settings).first()?;
            if !pulleys.contains(*first) {
                return None;
            }
            (
                Dragged::Pulley,
                bench.phasing().crank_direction(),
                bench.turned_deg(),
            )
        }
    };
    let clock = dragged.clock(ray, bench.layout())?;
    Some((dragged, Drag::new(direction, clock, from_deg)))
}

/// The mouse wheel turns the crank: 2° a notch, 10° with Shift. With Ctrl it is the camera's.
fn wheel(
    mut wheels: MessageReader<MouseWheel>,
    keys: Res<ButtonInput<KeyCode>>,
    viewport: Res<EngineViewport>,
    mut input: ResMut<CrankInput>,
    mut bench: ResMut<Bench>,
) {
    let mut notches = 0.0;
    for wheel in wheels.read() {
        notches += match wheel.unit {
            MouseScrollUnit::Line => f64::from(wheel.y),
            MouseScrollUnit::Pixel => f64::from(wheel.y) / 24.0,
        };
    }
    let zooms = keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]);
    if notches != 0.0 && !zooms && viewport.pointer().is_some() {
        let step = if keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]) {
            10.0
        } else {
            2.0
        };
        let to = bench.turned_deg() + notches * step;
        input.turn_to(&mut bench, to);
    }
}

/// The keys that change what another key does.
#[derive(Clone, Copy, Debug, Default)]
struct Modifiers {
    shift: [bool; 2],
    ctrl: [bool; 2],
}

impl Modifiers {
    /// Takes the press or release of one of them.
    fn take(&mut self, key: KeyCode, pressed: bool) {
        match key {
            KeyCode::ShiftLeft => self.shift[0] = pressed,
            KeyCode::ShiftRight => self.shift[1] = pressed,
            KeyCode::ControlLeft => self.ctrl[0] = pressed,
            KeyCode::ControlRight => self.ctrl[1] = pressed,
            _ => {}
        }
    }

    /// What one press of an arrow key turns the crank by.
    fn step_deg(self) -> f64 {
        match (self.shift, self.ctrl) {
            ([false, false], [false, false]) => 1.0,
            ([false, false], _) => 0.1,
            _ => 10.0,
        }
    }
}

/// Arrow keys turn the crank by a step, Page Up and Page Down from dead centre to dead centre; the
/// space bar lets it run; the function keys choose a set view.
///
/// Each press is counted from its event, with the modifiers that were down when it came: however
/// long a frame is, a key that came and went within it counts once, and one that is held repeats as
/// the desktop repeats it.
fn keys(
    mut events: MessageReader<KeyboardInput>,
    mut focus_lost: MessageReader<KeyboardFocusLost>,
    viewport: Res<EngineViewport>,
    mut input: ResMut<CrankInput>,
    mut bench: ResMut<Bench>,
    mut views: MessageWriter<SetView>,
    mut modifiers: Local<Modifiers>,
) {
    // What is released while another window has the keyboard is not heard of.
    if focus_lost.read().count() > 0 {
        *modifiers = Modifiers::default();
    }
    for event in events.read() {
        let pressed = event.state == ButtonState::Pressed;
        modifiers.take(event.key_code, pressed);
        if !pressed || !viewport.has_keys() {
            continue;
        }
        let from_deg = bench.turned_deg();
        // Rounded, so that a hundred tenths are ten degrees.
        let stepped = |way: f64| {
            let to = from_deg + way * modifiers.step_deg();
            Some((to * 1e6).round() / 1e6)
        };
        let to = match event.key_code {
            // On a button they lead on to the next.
            KeyCode::ArrowRight | KeyCode::ArrowUp if viewport.has_arrows() => stepped(1.0),
            KeyCode::ArrowLeft | KeyCode::ArrowDown if viewport.has_arrows() => stepped(-1.0),
            _ if event.repeat => None,
            KeyCode::PageUp => bench.dead_centres().next(from_deg),
            KeyCode::PageDown => bench.dead_centres().previous(from_deg),
            KeyCode::Space if viewport.has_space() => {
                input.toggle_running(&bench);
                None
            }
            key => {
                let view = SetView::KEYS.into_iter().zip(SetView::ALL);
                views.write_batch(view.filter_map(|(own, view)| {
                    (own == key && view.is_there(bench.layout())).then_some(view)
                }));
                None
            }
        };
        match (to, event.key_code) {
            (Some(to), KeyCode::PageUp | KeyCode::PageDown) => input.pose_to(&mut bench, to),
            (Some(to), _) => input.turn_to(&mut bench, to),
            (None, _) => {}
        }
    }
}

/// Turns a running crank on in its own direction.
fn run(
    time: Res<Time<Real>>,
    input: Res<CrankInput>,
    mut bench: ResMut<Bench>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if input.running {
        // After a pause (a dragged window, a suspended machine) the engine does not jump.
        let seconds = f64::min(time.delta_secs_f64(), 0.1);
        bench.turn_by(CrankTurn::new(input.turns_a_minute * 6.0 * seconds));
        redraw.write(RequestRedraw);
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use bevy::input::keyboard::{Key, NativeKey};
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
            .add_message::<KeyboardInput>()
            .add_message::<KeyboardFocusLost>()
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

    fn event(key_code: KeyCode, state: ButtonState) -> KeyboardInput {
        KeyboardInput {
            key_code,
            logical_key: Key::Unidentified(NativeKey::Unidentified),
            state,
            text: None,
            repeat: false,
            window: Entity::PLACEHOLDER,
        }
    }

    /// Presses keys together and lets them go again; no frame is drawn.
    fn strike(app: &mut App, keys: &[KeyCode]) {
        for &key in keys {
            app.world_mut()
                .write_message(event(key, ButtonState::Pressed));
        }
        for &key in keys.iter().rev() {
            app.world_mut()
                .write_message(event(key, ButtonState::Released));
        }
    }

    fn press(app: &mut App, keys: &[KeyCode]) {
        strike(app, keys);
        app.update();
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
    fn a_dead_centre_key_sets_the_crank_and_an_arrow_key_turns_it() {
        let mut app = app(BENCH);
        let poses = |app: &App| app.world().resource::<Bench>().poses();
        press(&mut app, &[KeyCode::ArrowRight]);
        assert_eq!((turned(&app), poses(&app)), (1.0, 0));
        press(&mut app, &[KeyCode::PageUp]);
        assert_eq!((turned(&app), poses(&app)), (180.0, 1));
    }

    #[test]
    fn a_rotor_dragged_from_low_down_goes_the_way_the_pointer_goes() {
        let layout = Layout::of(&scenes::find("flat_four").expect("a scene").engine());
        let place = layout.distributor.expect("a distributor");
        // Its tip towards the camera, well over the cap's underside, as it stands lifted out.
        let tip = place.cap
            + DVec3::new(
                0.0,
                place.lift_mm + 0.3 * place.radius_mm,
                0.6 * place.radius_mm,
            );
        let dragged = Dragged::Rotor { up_mm: tip.y };
        let at = |right_mm: f64| {
            let through = unit(tip + DVec3::X * right_mm);
            let direction = Vec3::new(0.0, -0.2_f32.sin(), -0.2_f32.cos());
            dragged
                .clock(
                    Ray3d::new(
                        through - direction * 10.0,
                        Dir3::new(direction).expect("a direction"),
                    ),
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
    fn each_press_is_counted_once_at_three_to_sixty_frames_a_second() {
        let mut app = app(BENCH);
        let mut random = fastrand::Rng::with_seed(500);
        let mut struck = 0;
        while struck < 500 {
            // A frame of 16 to 333 ms, and the presses that a quick hand makes meanwhile.
            let frame = Duration::from_millis(random.u64(16..=333));
            app.insert_resource(TimeUpdateStrategy::ManualDuration(frame));
            for _ in 0..random.usize(0..=3).min(500 - struck) {
                strike(&mut app, &[KeyCode::ArrowRight]);
                struck += 1;
            }
            app.update();
        }
        assert_eq!(turned(&app), 500.0);
        // Pressed in one frame and let go in a later one, however late, is one press too.
        app.world_mut()
            .write_message(event(KeyCode::ArrowRight, ButtonState::Pressed));
        for _ in 0..20 {
            app.update();
        }
        assert_eq!(turned(&app), 501.0);
    }

    #[test]
    fn a_modifier_counts_for_the_keys_pressed_while_it_is_down() {
        let mut app = app(BENCH);
        strike(&mut app, &[KeyCode::ControlLeft, KeyCode::ArrowRight]);
        strike(&mut app, &[KeyCode::ArrowRight]);
        strike(&mut app, &[KeyCode::ShiftRight, KeyCode::ArrowRight]);
        app.update();
        approx::assert_abs_diff_eq!(turned(&app), 11.1, epsilon = 1e-9);
        app.world_mut()
            .write_message(event(KeyCode::ShiftLeft, ButtonState::Pressed));
        app.update();
        app.world_mut().write_message(KeyboardFocusLost);
        press(&mut app, &[KeyCode::ArrowRight]);
        approx::assert_abs_diff_eq!(turned(&app), 12.1, epsilon = 1e-9);
    }

    #[test]
    fn page_up_goes_to_the_next_dead_centre_and_page_down_to_the_previous_one() {
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
            // A second at 6 rpm is 36°, whichever way that is as seen.
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
        app.world_mut()
            .resource_mut::<ButtonInput<KeyCode>>()
            .press(KeyCode::ControlLeft);
        app.update();
        assert_eq!(turned(&app), 2.0);
    }
}
