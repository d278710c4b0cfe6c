//! A real browser, spoken to as the WebDriver standard says (W3C, WebDriver 1): plain HTTP and JSON
//! to `chromedriver`.
//!
//! Needs Debian's `chromium` and `chromium-driver`; a test that cannot have them fails and says so.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};

/// How the browser is to come up.
#[derive(Clone, Copy, Default)]
pub(crate) struct Setup {
    /// A phone this wide, in CSS pixels; a desktop window where none is given.
    pub(crate) phone: Option<u32>,
    /// Scripts off.
    pub(crate) no_scripts: bool,
    /// Dark, as the system prefers.
    pub(crate) dark: bool,
    /// As little motion as can be, as the system prefers.
    pub(crate) still: bool,
    /// A processor so many times slower.
    pub(crate) slower: Option<u32>,
}

/// A browser with one page.
pub(crate) struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// Starts one, with a profile of its own.
    pub(crate) fn start(setup: Setup) -> Self {
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver (Debian: chromium-driver) is needed for this test");
        let mut lines = BufReader::new(driver.stdout.take().expect("its output")).lines();
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| {
                line.split("successfully on port ")
                    .nth(1)
                    .map(|rest| rest.trim_end_matches('.').parse().expect("a port"))
            })
            .expect("chromedriver says its port");
        // The rest of what it says is read away, so that it never waits for a reader.
        std::thread::spawn(move || lines.for_each(drop));
        let profile = tempfile::tempdir().expect("a folder");
        let mut arguments = vec![
            "--headless".to_owned(),
            "--no-sandbox".into(),
            "--disable-gpu".into(),
            "--disable-dev-shm-usage".into(),
            "--disable-quic".into(),
            "--no-first-run".into(),
            "--disable-background-networking".into(),
            "--disable-component-update".into(),
            "--disable-sync".into(),
            "--window-size=1100,1400".into(),
            format!("--user-data-dir={}", profile.path().display()),
        ];
        if setup.dark {
            arguments.push("--blink-settings=preferredColorScheme=0".into());
        }
        let mut options = json!({"args": arguments});
        if let Ok(binary) = std::env::var("CHROMIUM") {
            options["binary"] = json!(binary);
        }
        if let Some(width) = setup.phone {
            options["mobileEmulation"] = json!({"deviceMetrics": {"width": width, "height": 740, "pixelRatio": 2.0, "touch": true}});
        }
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome", "goog:chromeOptions": options, "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"}
        }}});
        let mut browser = Self {
            driver,
            port,
            session: String::new(),
            _profile: profile,
        };
        let answer = browser.call("POST", "/session", &wanted);
        browser.session = answer["sessionId"].as_str().expect("a session").to_owned();
        if setup.no_scripts {
            browser.set(
                "Emulation.setScriptExecutionDisabled",
                json!({"value": true}),
            );
        }
        if setup.still {
            let features = json!([{"name": "prefers-reduced-motion", "value": "reduce"}]);
            browser.set("Emulation.setEmulatedMedia", json!({"features": features}));
        }
        if let Some(times) = setup.slower {
            browser.set("Emulation.setCPUThrottlingRate", json!({"rate": times}));
        }
        browser
    }

    /// One command of Chromium's own.
    fn set(&self, command: &str, params: Value) {
        self.post(
            "/goog/cdp/execute",
            &json!({"cmd": command, "params": params}),
        );
    }

    /// Makes its window so large.
    pub(crate) fn resize(&self, width: u32, height: u32) {
        let rectangle = json!({"width": width, "height": height});
        self.post("/window/rect", &rectangle);
    }

    /// The page as it prints on paper of so many centimetres, PDF in base64.
    pub(crate) fn print(&self, (width, height): (f64, f64)) -> String {
        let paper = json!({"page": {"width": width, "height": height}, "shrinkToFit": false});
        let pdf = self.post("/print", &paper);
        pdf.as_str().unwrap_or_default().to_owned()
    }

    /// One request and its whole answer.
    fn exchange(&self, method: &str, path: &str, body: &str) -> std::io::Result<Vec<u8>> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        )?;
        let mut answer = BufReader::new(stream);
        let (mut length, mut line) = (0, String::new());
        while answer.read_line(&mut line)? > 2 {
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse().map_err(std::io::Error::other)?;
            }
            line.clear();
        }
        let mut body = vec![0; length];
        answer.read_exact(&mut body)?;
        Ok(body)
    }

    fn call(&self, method: &str, path: &str, body: &Value) -> Value {
        let body = if method == "GET" {
            String::new()
        } else {
            body.to_string()
        };
        let answer = self
            .exchange(method, path, &body)
            .expect("the driver answers");
        let answer: Value = serde_json::from_slice(&answer).expect("JSON");
        assert!(
            answer["value"]["error"].is_null(),
            "{method} {path}: {answer:#}"
        );
        answer["value"].clone()
    }

    fn post(&self, path: &str, body: &Value) -> Value {
        self.call("POST", &format!("/session/{}{path}", self.session), body)
    }

    /// Goes to an address.
    pub(crate) fn open(&self, address: &str) {
        self.post("/url", &json!({"url": address}));
    }

    /// Runs a script's body in the page; gives what it returns.
    pub(crate) fn run(&self, script: &str, arguments: &[Value]) -> Value {
        self.post(
            "/execute/sync",
            &json!({"script": script, "args": arguments}),
        )
    }

    /// The first element of a selector, as the standard writes it.
    pub(crate) fn find(&self, selector: &str) -> Value {
        self.post(
            "/element",
            &json!({"using": "css selector", "value": selector}),
        )
    }

    /// Whether an element is displayed.
    pub(crate) fn displayed(&self, selector: &str) -> bool {
        let element = self.find(selector);
        let id = element
            .as_object()
            .and_then(|object| object.values().next())
            .and_then(Value::as_str)
            .expect("an element")
            .to_owned();
        self.call(
            "GET",
            &format!("/session/{}/element/{id}/displayed", self.session),
            &Value::Null,
        ) == json!(true)
    }

    /// The text of an element as it is displayed.
    pub(crate) fn text(&self, selector: &str) -> String {
        let element = self.find(selector);
        let id = element
            .as_object()
            .and_then(|object| object.values().next())
            .and_then(Value::as_str)
            .expect("an element")
            .to_owned();
        self.call(
            "GET",
            &format!("/session/{}/element/{id}/text", self.session),
            &Value::Null,
        )
        .as_str()
        .expect("a text")
        .to_owned()
    }

    /// Clicks an element.
    pub(crate) fn click(&self, selector: &str) {
        let element = self.find(selector);
        let id = element
            .as_object()
            .and_then(|object| object.values().next())
            .and_then(Value::as_str)
            .expect("an element")
            .to_owned();
        self.post(&format!("/element/{id}/click"), &json!({}));
    }

    /// Presses and lets go keys, as the standard codes them.
    pub(crate) fn press(&self, keys: &[&str]) {
        let steps: Vec<Value> = keys
            .iter()
            .flat_map(|key| {
                [
                    json!({"type": "keyDown", "value": key}),
                    json!({"type": "keyUp", "value": key}),
                ]
            })
            .collect();
        self.post(
            "/actions",
            &json!({"actions": [{"type": "key", "id": "keys", "actions": steps}]}),
        );
    }

    /// Presses a key while another is held.
    pub(crate) fn hold_and_press(&self, held: &str, key: &str) {
        let steps = json!([
            {"type": "keyDown", "value": held}, {"type": "keyDown", "value": key},
            {"type": "keyUp", "value": key}, {"type": "keyUp", "value": held},
        ]);
        self.post(
            "/actions",
            &json!({"actions": [{"type": "key", "id": "keys", "actions": steps}]}),
        );
    }

    /// Waits until so many frames were drawn.
    pub(crate) fn frames(&self, many: u32) {
        let script = "const [many, done] = arguments; let left = many; const frame = () => left-- ? requestAnimationFrame(frame) : done(true); frame();";
        self.post("/execute/async", &json!({"script": script, "args": [many]}));
    }

    /// Drags from the middle of an element by so many CSS pixels to the right.
    pub(crate) fn drag(&self, selector: &str, right: i32) {
        let element = self.find(selector);
        let half = right / 2;
        let steps = json!([
            {"type": "pointerMove", "duration": 0, "origin": element, "x": 0, "y": 0},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerMove", "duration": 50, "origin": "pointer", "x": half, "y": 0},
            {"type": "pointerMove", "duration": 50, "origin": "pointer", "x": right - half, "y": 0},
            {"type": "pointerUp", "button": 0},
        ]);
        self.post(
            "/actions",
            &json!({"actions": [{"type": "pointer", "id": "hand", "parameters": {"pointerType": "mouse"}, "actions": steps}]}),
        );
    }

    /// What was written to the console since the last time, and every address that a page asked
    /// for.
    pub(crate) fn heard(&self, page: &str) -> (Vec<Value>, Vec<String>) {
        let console = self
            .post("/se/log", &json!({"type": "browser"}))
            .as_array()
            .cloned()
            .unwrap_or_default();
        let traffic = self
            .post("/se/log", &json!({"type": "performance"}))
            .as_array()
            .cloned()
            .unwrap_or_default();
        let asked = traffic.iter().filter_map(|entry| {
            let message: Value = serde_json::from_str(entry["message"].as_str()?).ok()?;
            let message = &message["message"];
            let asks = message["method"] == "Network.requestWillBeSent"
                && message["params"]["documentURL"] == page;
            asks.then(|| {
                message["params"]["request"]["url"]
                    .as_str()
                    .map(str::to_owned)
            })?
        });
        (console, asked.collect())
    }

    /// A picture of what is on the screen, PNG in base64, as the driver gives it.
    pub(crate) fn picture(&self) -> String {
        self.call(
            "GET",
            &format!("/session/{}/screenshot", self.session),
            &Value::Null,
        )
        .as_str()
        .unwrap_or_default()
        .to_owned()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // The browser goes with its session, after a failed test too; without its driver it would
        // stay.
        if !self.session.is_empty() {
            let _ = self.exchange("DELETE", &format!("/session/{}", self.session), "{}");
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
