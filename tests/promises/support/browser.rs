//! A browser, driven as a person would use it.

use crate::support::driver::{Driver, on_path};
use crate::support::{one_line, repository};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// How long to wait for something to appear.
const PATIENCE: Duration = Duration::from_secs(20);
/// The key under which the WebDriver standard gives the reference of an element.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// The Enter key, as the standard writes it.
pub const ENTER: &str = "\u{e007}";

/// A browser window with a profile of its own.
pub struct Browser {
    driver: Driver,
    session: String,
    pub window: Window,
    _profile: tempfile::TempDir,
}

/// The properties of a window.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Window {
    pub width: u32,
    pub height: u32,
    /// Whether it is a phone with a touch screen.
    pub touched: bool,
    pub script: bool,
}

/// The script that starts Chromium without a window.
const HEADLESS: &str = "tests/promises/support/headless.sh";

pub const PHONE: Window = Window { width: 390, height: 844, touched: true, script: true };

impl Browser {
    /// A new browser; `None` if none is installed.
    pub fn open(window: Window) -> Option<Self> {
        let driver = Driver::start()?;
        let profile = tempfile::tempdir().expect("a folder");
        let Window { width, height, touched, script } = window;
        let mut options = json!({
            "args": ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync",
                "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
                // A page is open for a second, so better code for its scripts costs more than it saves.
                "--js-flags=--no-opt,--no-maglev",
                format!("--window-size={width},{height}"),
                format!("--blink-settings=scriptEnabled={script}"),
                format!("--user-data-dir={}", profile.path().display())],
        });
        match on_path("chromium-headless-shell") {
            Some(_) => options["binary"] = json!(repository(HEADLESS)),
            None => options["args"].as_array_mut().expect("they are").push(json!("--headless=new")),
        }
        if touched {
            options["mobileEmulation"] = json!({
                "deviceMetrics": { "width": width, "height": height, "pixelRatio": 2.0, "touch": true, "mobile": true },
            });
        }
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": { "browser": "ALL" },
            "unhandledPromptBehavior": "ignore",
        } } });
        let session = driver.ask("POST", "/session", &wanted).expect("a browser");
        let session = session["sessionId"].as_str().expect("its name").to_owned();
        Some(Self { driver, session, window, _profile: profile })
    }

    /// Resets what the tests change: it leaves the page, and clears what sites have stored and what
    /// the console has said. Returns whether that succeeded.
    pub fn is_as_new(&self) -> bool {
        let own = |command: &str, with: &Value| {
            self.tried("goog/cdp/execute", &json!({ "cmd": command, "params": with })).is_ok()
        };
        let address = self.address();
        let origin: String = address.split_inclusive('/').take(3).collect();
        let kept = json!({ "origin": origin.trim_end_matches('/'), "storageTypes": "all" });
        let is_left = self.tried("url", &json!({ "url": "about:blank" })).is_ok();
        let is_forgotten = !origin.starts_with("http") || own("Storage.clearDataForOrigin", &kept);
        let clears = ["Network.clearBrowserCookies", "Network.clearBrowserCache"];
        let is_bare = clears.iter().all(|command| own(command, &json!({})));
        let is_read = self.tried("se/log", &json!({ "type": "browser" })).is_ok();
        is_left && is_forgotten && is_bare && is_read
    }

    #[track_caller]
    fn post(&self, what: &str, body: &Value) -> Value {
        match self.tried(what, body) {
            Ok(value) => value,
            Err(why) => panic!("{what} {body} at {}: {why}", self.address()),
        }
    }

    fn tried(&self, what: &str, body: &Value) -> Result<Value, String> {
        self.driver.ask("POST", &format!("/session/{}/{what}", self.session), body)
    }

    /// Opens an address and waits until it is loaded.
    #[track_caller]
    pub fn go(&self, address: &str) {
        self.post("url", &json!({ "url": address }));
    }

    #[track_caller]
    pub fn reload(&self) {
        self.post("refresh", &json!({}));
    }

    pub fn address(&self) -> String {
        let path = format!("/session/{}/url", self.session);
        let address = self.driver.ask("GET", &path, &Value::Null).unwrap_or_default();
        address.as_str().unwrap_or_default().to_owned()
    }

    /// Runs the body of a function in the page, with this argument.
    #[track_caller]
    pub fn run(&self, body: &str, with: &Value) -> Value {
        self.post("execute/sync", &json!({ "script": body, "args": [with] }))
    }

    /// As [`Browser::run`], for a script that answers later.
    #[track_caller]
    pub fn run_later(&self, body: &str, with: &Value) -> Value {
        self.post("execute/async", &json!({ "script": body, "args": [with] }))
    }

    /// The value of an expression of the page.
    #[track_caller]
    pub fn value(&self, expression: &str) -> Value {
        self.run(&format!("return {expression}"), &Value::Null)
    }

    /// Waits until the expression is true.
    #[track_caller]
    pub fn until(&self, expression: &str) {
        let started = Instant::now();
        let body = json!({ "script": format!("return Boolean({expression})"), "args": [] });
        // Between two pages there is no page to ask.
        while self.tried("execute/sync", &body) != Ok(Value::Bool(true)) {
            assert!(
                started.elapsed() < PATIENCE,
                "never {expression} at {}: {}",
                self.address(),
                one_line(&self.text())
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Waits until the page has these words.
    #[track_caller]
    pub fn sees(&self, words: &str) {
        self.until(&format!(
            "document.body && document.body.innerText.replace(/\\s+/g, ' ').includes({})",
            json!(words)
        ));
    }

    /// The text that a person reads on the page.
    pub fn text(&self) -> String {
        let body =
            json!({ "script": "return document.body ? document.body.innerText : ''", "args": [] });
        let text = self.tried("execute/sync", &body).unwrap_or_default();
        text.as_str().unwrap_or_default().to_owned()
    }

    /// The first element that a selector finds.
    #[track_caller]
    fn element(&self, selector: &str) -> String {
        let found = self.post("element", &json!({ "using": "css selector", "value": selector }));
        found[ELEMENT].as_str().expect("an element").to_owned()
    }

    /// Presses an element, as a finger does.
    #[track_caller]
    pub fn press(&self, selector: &str) {
        let element = self.element(selector);
        // Scroll as a person does, because bars cover the edges of the window.
        self.run("arguments[0].scrollIntoView({ block: 'center' })", &json!({ ELEMENT: element }));
        match self.window.script {
            true => drop(self.post(&format!("element/{element}/click"), &json!({}))),
            // If pages may not run scripts, the driver waits forever for a script of its own.
            false => drop(self.run("arguments[0].click()", &json!({ ELEMENT: element }))),
        }
    }

    /// Types into a field, after its contents.
    #[track_caller]
    pub fn fill(&self, selector: &str, text: &str) {
        let element = self.element(selector);
        self.post(&format!("element/{element}/value"), &json!({ "text": text }));
    }

    /// Types into a field, replacing its contents.
    #[track_caller]
    pub fn put(&self, selector: &str, text: &str) {
        let element = self.element(selector);
        self.post(&format!("element/{element}/clear"), &json!({}));
        self.fill(selector, text);
    }

    /// Types keys, wherever the page has its focus, with `apart` milliseconds between them.
    #[track_caller]
    pub fn keys(&self, text: &str, apart: u64) {
        let key = |key: char| {
            let (down, up) = ("keyDown", "keyUp");
            let way = |kind: &str| json!({ "type": kind, "value": key.to_string() });
            [way(down), way(up), json!({ "type": "pause", "duration": apart })]
        };
        let actions: Vec<Value> = text.chars().flat_map(key).collect();
        let hands = json!([{ "type": "key", "id": "keys", "actions": actions }]);
        self.post("actions", &json!({ "actions": hands }));
    }

    /// A command for the browser itself, such as one that cuts its network.
    #[track_caller]
    pub fn own(&self, command: &str, with: &Value) -> Value {
        self.post("goog/cdp/execute", &json!({ "cmd": command, "params": with }))
    }

    #[track_caller]
    pub fn is_cut_off(&self, cut: bool) {
        let with = json!({ "offline": cut, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        self.own("Network.enable", &json!({}));
        self.own("Network.emulateNetworkConditions", &with);
    }

    /// Sets the width of the window.
    #[track_caller]
    pub fn is_wide(&self, width: u32) {
        let with =
            json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.own("Emulation.setDeviceMetricsOverride", &with);
    }

    /// The contents of the window, as a PNG.
    #[track_caller]
    pub fn picture(&self) -> Vec<u8> {
        let path = format!("/session/{}/screenshot", self.session);
        let taken = self.driver.ask("GET", &path, &Value::Null).expect("a picture");
        from_base64(taken.as_str().unwrap_or_default())
    }

    /// The page as printed on the sheets that it asks for, as a PDF.
    #[track_caller]
    pub fn print(&self) -> Vec<u8> {
        let with = json!({ "preferCSSPageSize": true, "printBackground": true });
        from_base64(self.own("Page.printToPDF", &with)["data"].as_str().unwrap_or_default())
    }

    /// Runs a script on every page that is opened from now on, before the page's own scripts.
    #[track_caller]
    pub fn brings(&self, script: &str) {
        let with = json!({ "source": script });
        self.own("Page.addScriptToEvaluateOnNewDocument", &with);
    }

    /// Sets whether the person prefers dark pages.
    #[track_caller]
    pub fn is_dark(&self, dark: bool) {
        let value = if dark { "dark" } else { "light" };
        let features = json!([{ "name": "prefers-color-scheme", "value": value }]);
        self.own("Emulation.setEmulatedMedia", &json!({ "features": features }));
    }

    /// The console's messages since the last call.
    pub fn console(&self) -> Vec<String> {
        let said = self.post("se/log", &json!({ "type": "browser" }));
        let lines = said.as_array().into_iter().flatten();
        lines.map(|line| line["message"].as_str().unwrap_or_default().to_owned()).collect()
    }
}

/// Decodes Base64 (RFC 4648, section 4).
fn from_base64(text: &str) -> Vec<u8> {
    let values = text.bytes().filter_map(|sign| match sign {
        b'A'..=b'Z' => Some(sign - b'A'),
        b'a'..=b'z' => Some(sign - b'a' + 26),
        b'0'..=b'9' => Some(sign - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    });
    let (mut bits, mut held, mut bytes) = (0_u32, 0, Vec::new());
    for value in values {
        (bits, held) = (bits << 6 | u32::from(value), held + 6);
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held) as u8);
        }
    }
    bytes
}

impl Drop for Browser {
    fn drop(&mut self) {
        let path = format!("/session/{}", self.session);
        // If a test fails, its own message is better than the driver's.
        let _ = self.driver.ask("DELETE", &path, &Value::Null);
    }
}
