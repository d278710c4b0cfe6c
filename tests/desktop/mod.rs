//! A screen without a screen, and on it the program's own window, driven as a user and a desktop
//! drive it: keys pressed, a file dropped (XDND 5), the closing button (ICCCM,
//! `WM_DELETE_WINDOW`), other sizes, a window manager (EWMH), another screen size (RandR) and
//! scale. What came of it is read from the window's title, its pixels, and the files it wrote.
//!
//! It needs Xvfb, xdotool, openbox and something to draw with (Debian: xvfb, xdotool, openbox,
//! mesa-vulkan-drivers). Keys are pressed again until what they must bring is seen, so that a slow
//! machine only takes longer.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]
#![allow(dead_code, reason = "each test file takes what it needs")]

use std::fs;
use std::fs::File;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use dotwise::engine::read;
use tempfile::TempDir;
use x11rb::connection::Connection as _;
use x11rb::protocol::Event;
use x11rb::protocol::randr::{ConnectionExt as _, ModeInfo, Rotation};
use x11rb::protocol::xproto::{
    Atom, AtomEnum, ClientMessageEvent, ConfigureWindowAux, ConnectionExt as _, CreateGCAux,
    CreateWindowAux, EventMask, ImageFormat, InputFocus, PropMode, Rectangle,
    SELECTION_NOTIFY_EVENT, SelectionNotifyEvent, SelectionRequestEvent, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;
use x11rb::{COPY_DEPTH_FROM_PARENT, CURRENT_TIME, NONE};

/// A machine that draws in software, and is busy with other things too, is waited for this long.
pub(crate) const PATIENCE: Duration = Duration::from_secs(240);

/// Between two looks at what is waited for.
const PAUSE: Duration = Duration::from_millis(50);

/// Waits until `done`.
pub(crate) fn until(what: &str, mut done: impl FnMut() -> bool) {
    let start = Instant::now();
    while !done() {
        assert!(start.elapsed() < PATIENCE, "not in {PATIENCE:?}: {what}");
        sleep(PAUSE);
    }
}

/// The panes on the right, by their keys.
pub(crate) const FIELDS: &str = "alt+6";
pub(crate) const JOB: &str = "alt+7";

/// The teeth of the crank's wheel, as the file has them.
pub(crate) fn crank_teeth(path: &Path) -> Option<u32> {
    let read = read::engine(&fs::read_to_string(path).ok()?);
    read.engine
        .map(|engine| engine.written().cam_drive.crank_teeth)
}

/// A process that is ended when it is dropped.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A screen without a screen.
pub(crate) struct Screen {
    display: String,
    server: RustConnection,
    root: u32,
    // Dropped last, after what stands on it.
    manager: Option<Running>,
    _xvfb: Running,
}

impl Screen {
    /// One so many pixels wide and high.
    pub(crate) fn of(width: u16, height: u16) -> Self {
        let mut xvfb = Command::new("Xvfb")
            .args(["-displayfd", "1", "-nolisten", "tcp", "-screen", "0"])
            .arg(format!("{width}x{height}x24"))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map(Running)
            .expect("Xvfb (Debian: xvfb) is needed");
        let mut number = String::new();
        let out = xvfb.0.stdout.take().expect("piped");
        BufReader::new(out)
            .read_line(&mut number)
            .expect("the display's number");
        let display = format!(":{}", number.trim());
        let (server, screen) = x11rb::connect(Some(&display)).expect("the display");
        let root = server.setup().roots[screen].root;
        Self {
            display,
            server,
            root,
            manager: None,
            _xvfb: xvfb,
        }
    }

    /// Starts a window manager, which takes charge of the windows that are there.
    pub(crate) fn manage(&mut self) {
        let manager = Command::new("openbox")
            .arg("--sm-disable")
            .env("DISPLAY", &self.display)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("openbox (Debian: openbox) is needed");
        self.manager = Some(Running(manager));
    }

    pub(crate) fn xdotool(&self, arguments: &[&str]) -> String {
        let answer = Command::new("xdotool")
            .env("DISPLAY", &self.display)
            .args(arguments)
            .output();
        let answer = answer.expect("xdotool (Debian: xdotool) is needed");
        String::from_utf8_lossy(&answer.stdout).trim().to_owned()
    }

    /// Presses keys one after the other, such as `Page_Up` or `ctrl+s`. Each is held as a hand
    /// holds it: what comes and goes within one frame is not seen.
    pub(crate) fn press(&self, keys: &[&str]) {
        const HELD: Duration = Duration::from_millis(400);
        for keys in keys {
            let (with, key) = keys
                .rsplit_once('+')
                .map_or((None, *keys), |(with, key)| (Some(with), key));
            if let Some(with) = with {
                self.xdotool(&["keydown", with]);
                sleep(HELD);
            }
            self.xdotool(&["key", key]);
            sleep(HELD);
            if let Some(with) = with {
                self.xdotool(&["keyup", with]);
                sleep(HELD);
            }
        }
    }

    fn atom(&self, name: &str) -> Atom {
        self.server
            .intern_atom(false, name.as_bytes())
            .expect("asked")
            .reply()
            .expect("an atom")
            .atom
    }

    /// A property of a window, as numbers of 32 bits; none where it does not have it.
    fn numbers(&self, window: u32, property: &str) -> Vec<u32> {
        let property = self.atom(property);
        let reply = self
            .server
            .get_property(false, window, property, AtomEnum::ANY, 0, 64)
            .expect("asked")
            .reply()
            .ok();
        let numbers = reply.as_ref().and_then(|reply| reply.value32());
        numbers.map(Iterator::collect).unwrap_or_default()
    }

    /// Sends a message about `window` to `whom`, and waits until the server has it.
    fn tell(&self, whom: u32, window: u32, what: &str, data: [u32; 5]) {
        let message = ClientMessageEvent::new(32, window, self.atom(what), data);
        let mask = if whom == self.root {
            EventMask::SUBSTRUCTURE_REDIRECT | EventMask::SUBSTRUCTURE_NOTIFY
        } else {
            EventMask::NO_EVENT
        };
        self.server
            .send_event(false, whom, mask, message)
            .expect("sent");
        self.server.sync().expect("taken in");
    }

    /// Width and height in pixels, of a window that is there.
    fn size(&self, of: u32) -> Option<(u16, u16)> {
        let geometry = self.server.get_geometry(of).expect("asked").reply().ok()?;
        Some((geometry.width, geometry.height))
    }

    /// Makes the screen so wide and high, at most as large as it came up.
    pub(crate) fn resize(&self, width: u16, height: u16) {
        let resources = self
            .server
            .randr_get_screen_resources(self.root)
            .expect("asked")
            .reply()
            .expect("the screen's resources");
        let (crtc, output) = (resources.crtcs[0], resources.outputs[0]);
        let mode = resources
            .modes
            .iter()
            .find(|mode| (mode.width, mode.height) == (width, height))
            .map_or_else(|| self.new_mode(output, width, height), |mode| mode.id);
        let set = |mode: u32, outputs: &[u32]| {
            self.server
                .randr_set_crtc_config(
                    crtc,
                    CURRENT_TIME,
                    CURRENT_TIME,
                    0,
                    0,
                    mode,
                    Rotation::ROTATE0,
                    outputs,
                )
                .expect("asked")
                .reply()
                .expect("set");
        };
        set(NONE, &[]);
        self.server
            .randr_set_screen_size(self.root, width, height, width.into(), height.into())
            .expect("asked")
            .check()
            .expect("a size that the screen can have");
        set(mode, &[output]);
        assert_eq!(self.size(self.root), Some((width, height)));
    }

    fn new_mode(&self, output: u32, width: u16, height: u16) -> u32 {
        let name = format!("{width}x{height}");
        let info = ModeInfo {
            width,
            height,
            name_len: name.len() as u16,
            ..ModeInfo::default()
        };
        let mode = self
            .server
            .randr_create_mode(self.root, info, name.as_bytes())
            .expect("asked")
            .reply()
            .expect("a mode")
            .mode;
        self.server
            .randr_add_output_mode(output, mode)
            .expect("asked")
            .check()
            .expect("added");
        mode
    }

    /// Drops a file on the window; false where the window did not take it within `patience`.
    fn drop_file(&self, window: u32, path: &Path, patience: Duration) -> bool {
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
        self.tell(window, window, "XdndEnter", [own, 5 << 24, list, 0, 0]);
        self.tell(
            window,
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
                    self.tell(window, window, "XdndDrop", [own, 0, CURRENT_TIME, 0, 0]);
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

/// What a window manager knows a window's state by (ICCCM, `WM_STATE`).
const NORMAL: u32 = 1;
const ICONIC: u32 = 3;

/// A colour that the program paints nothing in.
const FOREIGN: u32 = 0x00ff_00ff;

/// The program with its window open.
pub(crate) struct Window {
    program: Running,
    id: u32,
    /// What it wrote to standard output and standard error.
    said: PathBuf,
    _folder: TempDir,
}

impl Window {
    /// Opened with a file. Work that is not saved is kept in a folder beside it.
    pub(crate) fn on(screen: &Screen, file: &Path) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let said = folder.path().join("said.txt");
        let out = File::create(&said).expect("a file");
        let program = Command::new(env!("CARGO_BIN_EXE_dotwise"))
            .arg(file)
            .env("DISPLAY", &screen.display)
            .env("XDG_STATE_HOME", file.with_file_name("state"))
            .stdout(out.try_clone().expect("a file"))
            .stderr(out)
            .spawn()
            .expect("runs");
        let mut window = Self {
            program: Running(program),
            id: 0,
            said,
            _folder: folder,
        };
        let name = file.file_name().expect("a name").to_string_lossy();
        until(&format!("a window named {name} comes up"), || {
            assert!(window.is_open(), "{}", window.said());
            // Its own: the window of a program that was killed stays for a moment.
            let ids = screen.xdotool(&[
                "search",
                "--all",
                "--onlyvisible",
                "--pid",
                &window.program.0.id().to_string(),
                "--name",
                &name,
            ]);
            let id = ids.lines().next().and_then(|id| id.parse().ok());
            window.id = id.unwrap_or_default();
            id.is_some()
        });
        window.focus(screen);
        window
    }

    /// Gives it the keyboard, away from whatever has it: winit takes keys only after it was told that
    /// its window has the keyboard, and a window that had it before it listened is never told.
    pub(crate) fn focus(&self, screen: &Screen) {
        for whom in [screen.root, self.id] {
            let focus = screen
                .server
                .set_input_focus(InputFocus::PARENT, whom, CURRENT_TIME)
                .expect("asked");
            // A window that a manager has put away cannot have it, and need not.
            let _ = focus.check();
        }
    }

    /// Its title.
    pub(crate) fn title(&self, screen: &Screen) -> String {
        let (name, text) = (screen.atom("_NET_WM_NAME"), screen.atom("UTF8_STRING"));
        let reply = screen
            .server
            .get_property(false, self.id, name, text, 0, 1024)
            .expect("asked")
            .reply();
        reply.map_or_else(
            |_| String::new(),
            |reply| String::from_utf8_lossy(&reply.value).into_owned(),
        )
    }

    /// Whether its title says that there is work that is not saved.
    pub(crate) fn is_unsaved(&self, screen: &Screen) -> bool {
        self.title(screen).contains("not saved")
    }

    /// What it wrote to standard output and standard error.
    pub(crate) fn said(&self) -> String {
        fs::read_to_string(&self.said).expect("what it said")
    }

    pub(crate) fn is_open(&mut self) -> bool {
        self.program.0.try_wait().expect("asked").is_none()
    }

    /// Gives it the keyboard and does something, again and again until `done`.
    pub(crate) fn repeat_until(
        &mut self,
        screen: &Screen,
        what: &str,
        act: impl Fn(),
        mut done: impl FnMut(&Self) -> bool,
    ) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            self.focus(screen);
            act();
            for _ in 0..20 {
                if done(self) {
                    return;
                }
                sleep(PAUSE);
            }
            assert!(
                self.is_open(),
                "the window closed before {what}: {}",
                self.said()
            );
        }
        panic!("not in {PATIENCE:?}: {what}");
    }

    /// Presses keys again and again until `done`.
    pub(crate) fn press_until(
        &mut self,
        screen: &Screen,
        keys: &[&str],
        what: &str,
        done: impl Fn() -> bool,
    ) {
        self.repeat_until(screen, what, || screen.press(keys), |_| done());
    }

    /// Types a number into the field with these words, and leaves the field, until the title says
    /// that there is work that is not saved.
    pub(crate) fn type_into(&mut self, screen: &Screen, words: &str, number: &str) {
        let act = || {
            // Two keys within one slow frame can lead elsewhere: whatever was opened so is closed.
            screen.press(&["Escape", "Escape", FIELDS, "ctrl+f", "ctrl+a"]);
            screen.xdotool(&["type", "--delay", "30", words]);
            screen.press(&["Tab", "Tab", "ctrl+a"]);
            screen.xdotool(&["type", "--delay", "30", number]);
            screen.press(&["Return"]);
        };
        self.repeat_until(screen, "a number is typed", act, |window| {
            window.is_unsaved(screen)
        });
    }

    /// Drops a file on it, and waits until the window is called by it.
    pub(crate) fn drop_file(&self, screen: &Screen, path: &Path) {
        assert!(
            screen.drop_file(self.id, path, PATIENCE),
            "the window took nothing"
        );
        let name = path.file_name().expect("a name").to_string_lossy();
        until("the file dropped is opened", || {
            self.title(screen).starts_with(&*name)
        });
    }

    /// Presses its closing button.
    pub(crate) fn press_close(&self, screen: &Screen) {
        let protocol = screen.atom("WM_DELETE_WINDOW");
        screen.tell(
            self.id,
            self.id,
            "WM_PROTOCOLS",
            [protocol, CURRENT_TIME, 0, 0, 0],
        );
    }

    /// Waits until it has closed, pressing keys again and again.
    pub(crate) fn close_by(mut self, screen: &Screen, keys: &[&str]) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            self.focus(screen);
            screen.press(keys);
            if let Some(status) = self.program.0.try_wait().expect("asked") {
                assert!(status.success(), "{status}: {}", self.said());
                return;
            }
        }
        panic!("the window did not close");
    }

    /// Makes it so large, as nobody but the user asks a window manager to.
    pub(crate) fn resize(&self, screen: &Screen, width: u16, height: u16) {
        let size = ConfigureWindowAux::new()
            .width(u32::from(width))
            .height(u32::from(height));
        screen
            .server
            .configure_window(self.id, &size)
            .expect("asked");
        screen.server.sync().expect("taken in");
    }

    /// Its width and height in pixels.
    pub(crate) fn size(&self, screen: &Screen) -> (u16, u16) {
        screen
            .size(self.id)
            .unwrap_or_else(|| panic!("the window is gone: {}", self.said()))
    }

    /// What it shows, in the server's bytes.
    pub(crate) fn picture(&self, screen: &Screen) -> Vec<u8> {
        let (width, height) = self.size(screen);
        let picture = screen
            .server
            .get_image(
                ImageFormat::Z_PIXMAP,
                self.id,
                0,
                0,
                width,
                height,
                u32::MAX,
            )
            .expect("asked")
            .reply();
        picture.expect("a picture").data
    }

    /// What it shows once that has stayed the same for three seconds: a frame takes one on a busy
    /// machine.
    pub(crate) fn settled(&self, screen: &Screen) -> Vec<u8> {
        const STILL: u32 = 60;
        let (mut last, mut still) = (self.picture(screen), 0);
        until("it shows the same for a while", || {
            let now = self.picture(screen);
            still = if now == last { still + 1 } else { 0 };
            last = now;
            still >= STILL
        });
        last
    }

    /// Paints it over in a colour that is not its own, and waits until it has drawn itself again.
    pub(crate) fn draws(&mut self, screen: &Screen, what: &str) {
        let server = &screen.server;
        let (width, height) = self.size(screen);
        let pen = server.generate_id().expect("an id");
        let whole = Rectangle {
            width,
            height,
            ..Rectangle::default()
        };
        server
            .create_gc(pen, self.id, &CreateGCAux::new().foreground(FOREIGN))
            .expect("a pen");
        server
            .poly_fill_rectangle(self.id, pen, &[whole])
            .expect("painted");
        server.free_gc(pen).expect("freed");
        let mut at = 0;
        until(&format!("{what} is drawn"), || {
            assert!(self.is_open(), "{what} ended the program: {}", self.said());
            // The pointer moves over it: it draws itself for nothing less.
            at = 1 - at;
            server
                .warp_pointer(NONE, self.id, 0, 0, 0, 0, 2 + at, 2)
                .expect("moved");
            let pixel = server
                .get_image(ImageFormat::Z_PIXMAP, self.id, 0, 0, 1, 1, u32::MAX)
                .expect("asked")
                .reply();
            pixel.is_ok_and(|pixel| pixel.data[..3] != FOREIGN.to_le_bytes()[..3])
        });
    }

    /// Sets the resolution that programs scale themselves by, 96 for a scale of 1. winit reads the
    /// root window's when it is told that the property has changed on a window of its own: of the
    /// root window's changes it hears only through a desktop's settings daemon.
    pub(crate) fn scale(&self, screen: &Screen, dpi: u32) {
        for window in [screen.root, self.id] {
            screen
                .server
                .change_property8(
                    PropMode::REPLACE,
                    window,
                    AtomEnum::RESOURCE_MANAGER,
                    AtomEnum::STRING,
                    format!("Xft.dpi:\t{dpi}\n").as_bytes(),
                )
                .expect("set");
        }
        screen.server.sync().expect("taken in");
    }

    /// Whether a window manager has it, and shows it.
    pub(crate) fn is_managed(&self, screen: &Screen) -> bool {
        screen.numbers(self.id, "WM_STATE").first() == Some(&NORMAL)
    }

    /// Has the window manager minimise it.
    pub(crate) fn minimise(&self, screen: &Screen) {
        screen.tell(
            screen.root,
            self.id,
            "WM_CHANGE_STATE",
            [ICONIC, 0, 0, 0, 0],
        );
        until("it is minimised", || {
            screen.numbers(self.id, "WM_STATE").first() == Some(&ICONIC)
        });
    }

    /// Has the window manager show it, and give it the keyboard.
    pub(crate) fn show(&self, screen: &Screen) {
        let asked_by_a_pager = 2;
        screen.tell(
            screen.root,
            self.id,
            "_NET_ACTIVE_WINDOW",
            [asked_by_a_pager, CURRENT_TIME, 0, 0, 0],
        );
        until("it is shown", || {
            self.is_managed(screen)
                && screen.numbers(screen.root, "_NET_ACTIVE_WINDOW").first() == Some(&self.id)
        });
    }

    /// Has the window manager maximise it, or restore it.
    pub(crate) fn maximise(&self, screen: &Screen, maximised: bool) {
        let states = [
            "_NET_WM_STATE_MAXIMIZED_VERT",
            "_NET_WM_STATE_MAXIMIZED_HORZ",
        ]
        .map(|state| screen.atom(state));
        let add_or_remove = u32::from(maximised);
        screen.tell(
            screen.root,
            self.id,
            "_NET_WM_STATE",
            [add_or_remove, states[0], states[1], 1, 0],
        );
        until("it is maximised, or restored", || {
            let now = screen.numbers(self.id, "_NET_WM_STATE");
            states.iter().all(|state| now.contains(state) == maximised)
        });
    }
}
