//! What `bench` prints when the page is open.

use crate::terminal::screen::{Screen, Signs};
use crate::terminal::words::wrapped;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;

pub(crate) struct Opened {
    /// Its address on this machine.
    pub here: String,
    /// Its address on the network, if it is shared; the inner `None` without a network.
    pub shared: Option<Option<String>>,
    pub read_only: bool,
}

pub(crate) fn opened_text(opened: &Opened, screen: Screen) -> String {
    let mut lines = vec![match opened.read_only {
        true => "The book is open as a read-only page.".to_owned(),
        false => "The book is open as a page.".to_owned(),
    }];
    match &opened.shared {
        None => {
            lines.push(format!("  {}", opened.here));
            let only = "Only this machine can open it. For phones on your network: swellbook bench \
                        --share";
            lines.push(wrapped(only, screen.width));
        }
        Some(None) => {
            lines.push(format!("  {}", opened.here));
            lines.push(wrapped(
                "This machine is not on a network, so phones cannot open it.",
                screen.width,
            ));
        }
        Some(Some(address)) => {
            lines.push(format!("  {address}"));
            lines.extend(picture(address, screen));
            let care = "Everyone on this network who has this address can read and change the book, and \
                        what is sent is not encrypted.";
            lines.push(wrapped(care, screen.width));
        }
    }
    lines.push("Ctrl-C ends it.".to_owned());
    lines.join("\n")
}

/// The address as a QR code, dark on light whatever the terminal's colours are. Without colour, the
/// signs assume light text on a dark background.
fn picture(address: &str, screen: Screen) -> Option<String> {
    let code = QrCode::new(address).ok()?;
    let picture = match (screen.signs, screen.colour) {
        (Signs::Bars, true) => code.render::<Dense1x2>().build(),
        (Signs::Bars, false) => {
            let (dark, light) = (Dense1x2::Light, Dense1x2::Dark);
            code.render::<Dense1x2>().dark_color(dark).light_color(light).build()
        }
        (Signs::Plain, true) => wide(&code, '#', ' '),
        (Signs::Plain, false) => wide(&code, ' ', '#'),
    };
    let widest = picture.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    let lines: Vec<String> = picture.lines().map(|line| screen.on_white(line)).collect();
    (widest <= screen.width).then(|| lines.join("\n"))
}

fn wide(code: &QrCode, dark: char, light: char) -> String {
    code.render().dark_color(dark).light_color(light).module_dimensions(2, 1).build()
}
