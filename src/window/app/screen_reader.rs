//! What a screen reader is told, and what it asks for.
//!
//! egui describes what stands in the panels (AccessKit), bevy_egui hands that to bevy's adapter, and
//! the adapter to the desktop. Nothing is described before the desktop asks. What is asked for, a
//! button's press say, comes from the desktop on a thread of its own and wakes nothing: here it is
//! waited for, and handed to egui.

use std::sync::{Arc, Mutex, Weak};
use std::thread;
use std::time::Duration;

use bevy::a11y::{AccessibilityRequested, ActionRequest};
use bevy::prelude::*;
use bevy::window::{PrimaryWindow, RequestRedraw};
use bevy::winit::EventLoopProxyWrapper;
use bevy::winit::accessibility::{WinitActionRequestHandler, WinitActionRequestHandlers};
use bevy_egui::{EguiContext, EguiInput, EguiPreUpdateSet};

use super::dialogs::{Wake, wake};

/// Lets a screen reader read the window and press what is in it.
pub(crate) struct ScreenReaderPlugin;

impl Plugin for ScreenReaderPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(Update, listen.run_if(not(is_listening)));
        app.add_systems(Last, draw_for_requests);
        app.add_systems(
            PreUpdate,
            (describe_when_asked, hand_over_requests)
                .after(EguiPreUpdateSet::ProcessInput)
                .before(EguiPreUpdateSet::BeginPass),
        );
    }
}

/// Somebody waits for what a screen reader asks.
#[derive(Resource)]
struct Listening;

fn is_listening(listening: Option<Res<Listening>>) -> bool {
    listening.is_some()
}

/// Waits, on a thread of its own, for what a screen reader asks of the window, and wakes the window
/// for it.
fn listen(
    windows: Query<Entity, With<PrimaryWindow>>,
    handlers: Option<Res<WinitActionRequestHandlers>>,
    requested: Option<Res<AccessibilityRequested>>,
    proxy: Option<Res<EventLoopProxyWrapper>>,
    mut commands: Commands,
) {
    let (Ok(window), Some(handlers), Some(requested)) = (windows.single(), handlers, requested)
    else {
        return;
    };
    let Some(asked) = handlers.get(&window).map(Arc::downgrade) else {
        return;
    };
    let (requested, wake) = (requested.clone(), wake(proxy.as_deref()));
    let waits = thread::Builder::new()
        .name("screen reader".to_owned())
        .spawn(move || wait_for_requests(&asked, &requested, &wake));
    if let Err(error) = waits {
        error!("a screen reader cannot be waited for: {error}");
    }
    commands.insert_resource(Listening);
}

/// Until the window is gone.
fn wait_for_requests(
    asked: &Weak<Mutex<WinitActionRequestHandler>>,
    requested: &AccessibilityRequested,
    wake: &Wake,
) {
    /// Sooner than anyone notices.
    const EVERY: Duration = Duration::from_millis(100);
    let mut was_requested = false;
    while let Some(asked) = asked.upgrade() {
        let waits = asked.lock().is_ok_and(|asked| !asked.is_empty());
        drop(asked);
        let is_requested = requested.get();
        if waits || is_requested != was_requested {
            wake();
        }
        was_requested = is_requested;
        thread::sleep(EVERY);
    }
}

/// Has egui describe what it shows once a screen reader asked; until then it costs nothing.
fn describe_when_asked(
    requested: Option<Res<AccessibilityRequested>>,
    mut contexts: Query<&mut EguiContext>,
) {
    let is_requested = requested.is_some_and(|requested| requested.get());
    for mut context in &mut contexts {
        let ctx = context.bypass_change_detection().get_mut();
        if is_requested {
            ctx.enable_accesskit();
        } else {
            ctx.disable_accesskit();
        }
    }
}

/// What is asked for comes at the end of a frame: the next one hands it over.
fn draw_for_requests(
    requests: Option<MessageReader<ActionRequest>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if requests.is_some_and(|mut requests| requests.read().count() > 0) {
        redraw.write(RequestRedraw);
    }
}

/// Hands egui what a screen reader asks for.
fn hand_over_requests(
    mut requests: Option<MessageReader<ActionRequest>>,
    mut inputs: Query<&mut EguiInput>,
) {
    for ActionRequest(request) in requests.iter_mut().flat_map(MessageReader::read) {
        for mut input in &mut inputs {
            let event = egui::Event::AccessKitActionRequest(request.clone());
            input.events.push(event);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Instant;

    use egui::accesskit::{Action, NodeId, TreeId};

    use super::*;

    fn press() -> egui::accesskit::ActionRequest {
        egui::accesskit::ActionRequest {
            action: Action::Click,
            target_tree: TreeId::ROOT,
            target_node: NodeId(7),
            data: None,
        }
    }

    #[test]
    fn what_a_screen_reader_asks_for_wakes_the_window_and_the_waiting_ends_with_it() {
        let asked = Arc::new(Mutex::new(WinitActionRequestHandler::default()));
        let requested = AccessibilityRequested::default();
        let (woken, weak) = (Arc::new(AtomicUsize::new(0)), Arc::downgrade(&asked));
        let (counts, reads) = (Arc::clone(&woken), requested.clone());
        let wake: Wake = Arc::new(move || {
            counts.fetch_add(1, Ordering::AcqRel);
        });
        let waits = thread::spawn(move || wait_for_requests(&weak, &reads, &wake));
        let comes = |count: usize| {
            let start = Instant::now();
            while woken.load(Ordering::Acquire) < count {
                assert!(start.elapsed() < Duration::from_secs(20), "{count}");
                thread::sleep(Duration::from_millis(5));
            }
        };
        requested.set(true);
        comes(1);
        asked.lock().expect("the queue").push_back(press());
        comes(2);
        asked.lock().expect("the queue").clear();
        drop(asked);
        waits.join().expect("ends");
    }

    #[test]
    fn egui_hears_what_a_screen_reader_asks_for() {
        let mut app = App::new();
        app.add_message::<ActionRequest>();
        app.add_systems(PreUpdate, hand_over_requests);
        let context = app.world_mut().spawn(EguiInput::default()).id();
        app.world_mut().write_message(ActionRequest(press()));
        app.update();
        let input = app.world().get::<EguiInput>(context).expect("the input");
        assert_eq!(input.events, [egui::Event::AccessKitActionRequest(press())]);
    }
}
