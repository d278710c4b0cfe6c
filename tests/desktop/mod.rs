//! What a desktop does to a window, spoken straight to the X server: a file dropped on it (XDND 5),
//! and the press of its closing button (ICCCM, `WM_DELETE_WINDOW`).

use std::path::Path;
use std::time::{Duration, Instant};

use x11rb::connection::Connection as _;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    Atom, ClientMessageEvent, ConnectionExt as _, CreateWindowAux, EventMask, PropMode,
    SELECTION_NOTIFY_EVENT, SelectionNotifyEvent, SelectionRequestEvent, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;
use x11rb::{COPY_DEPTH_FROM_PARENT, CURRENT_TIME};

/// A program beside the one that is tested.
pub struct Desktop {
    server: RustConnection,
    root: u32,
}

impl Desktop {
    /// On this display.
    pub fn on(display: &str) -> Self {
        let (server, screen) = x11rb::connect(Some(display)).expect("the display");
        let root = server.setup().roots[screen].root;
        Self { server, root }
    }

    fn atom(&self, name: &str) -> Atom {
        self.server
            .intern_atom(false, name.as_bytes())
            .expect("asked")
            .reply()
            .expect("an atom")
            .atom
    }

    fn tell(&self, window: u32, what: &str, data: [u32; 5]) {
        let message = ClientMessageEvent::new(32, window, self.atom(what), data);
        self.server
            .send_event(false, window, EventMask::NO_EVENT, message)
            .expect("sent");
        self.server.flush().expect("sent");
    }

    /// Presses the window's closing button.
    pub fn press_close(&self, window: u32) {
        self.tell(
            window,
            "WM_PROTOCOLS",
            [self.atom("WM_DELETE_WINDOW"), CURRENT_TIME, 0, 0, 0],
        );
    }

    /// Drops a file on the window; false where the window did not take it within `patience`.
    pub fn drop_file(&self, window: u32, path: &Path, patience: Duration) -> bool {
        let own = self.server.generate_id().expect("an id");
        let aux = CreateWindowAux::new();
        self.server
            .create_window(
                COPY_DEPTH_FROM_PARENT,
                own,
                self.root,
                0,
                0,
                1,
                1,
                0,
                WindowClass::INPUT_OUTPUT,
                0,
                &aux,
            )
            .expect("a window");
        let list = self.atom("text/uri-list");
        self.server
            .set_selection_owner(own, self.atom("XdndSelection"), CURRENT_TIME)
            .expect("owned");
        let place = 300 << 16 | 300;
        self.tell(window, "XdndEnter", [own, 5 << 24, list, 0, 0]);
        self.tell(
            window,
            "XdndPosition",
            [own, 0, place, CURRENT_TIME, self.atom("XdndActionCopy")],
        );
        let (status, finished) = (self.atom("XdndStatus"), self.atom("XdndFinished"));
        let (mut dropped, start) = (false, Instant::now());
        while start.elapsed() < patience {
            match self.server.poll_for_event().expect("asked") {
                Some(Event::SelectionRequest(asked)) => self.give(&asked, list, path),
                Some(Event::ClientMessage(message)) if message.type_ == status && !dropped => {
                    dropped = true;
                    self.tell(window, "XdndDrop", [own, 0, CURRENT_TIME, 0, 0]);
                }
                Some(Event::ClientMessage(message)) if message.type_ == finished => return true,
                Some(_) => {}
                None => std::thread::sleep(Duration::from_millis(20)),
            }
        }
        false
    }

    /// Hands over the list of files.
    fn give(&self, asked: &SelectionRequestEvent, list: Atom, path: &Path) {
        let uri = format!("file://{}\r\n", path.display());
        self.server
            .change_property8(
                PropMode::REPLACE,
                asked.requestor,
                asked.property,
                list,
                uri.as_bytes(),
            )
            .expect("given");
        let notice = SelectionNotifyEvent {
            response_type: SELECTION_NOTIFY_EVENT,
            sequence: 0,
            time: asked.time,
            requestor: asked.requestor,
            selection: asked.selection,
            target: asked.target,
            property: asked.property,
        };
        self.server
            .send_event(false, asked.requestor, EventMask::NO_EVENT, notice)
            .expect("sent");
        self.server.flush().expect("sent");
    }
}
