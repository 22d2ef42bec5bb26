/// The width and the characters of a terminal, or of its substitute.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Screen {
    /// Columns that a text may take.
    pub width: usize,
    /// The characters that pictures are made of.
    pub signs: Signs,
    /// Whether pictures are coloured. Colour codes have no width; the stream that prints the text
    /// strips them where they are unwanted.
    pub colour: bool,
}

/// What a colour marks. The signs differ without it, too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ink {
    /// The wanted swell.
    Band,
    Range,
    /// The middle of a range.
    Middle,
    /// A reference value for a range.
    Mark,
}

impl Screen {
    /// A screen without colours.
    pub fn new(width: usize, signs: Signs) -> Self {
        Self { width, signs, colour: false }
    }

    #[must_use]
    pub fn coloured(self) -> Self {
        Self { colour: true, ..self }
    }

    /// A text in a colour (the select-graphic-rendition codes of ECMA-48), if colours are on.
    pub(crate) fn ink(&self, text: &str, ink: Option<Ink>) -> String {
        match ink {
            Some(ink) if self.colour => format!("\x1b[{}m{text}\x1b[0m", ink.code()),
            Some(_) | None => text.to_owned(),
        }
    }

    /// A text in black on white, if colours are on.
    pub(crate) fn on_white(&self, text: &str) -> String {
        if self.colour { format!("\x1b[30;107m{text}\x1b[0m") } else { text.to_owned() }
    }
}

impl Ink {
    fn code(self) -> &'static str {
        match self {
            Self::Band => "32",
            Self::Range => "1",
            Self::Middle => "1;36",
            Self::Mark => "33",
        }
    }
}

/// The characters of a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signs {
    /// Bars and dots, where the terminal shows them.
    Bars,
    /// Plain ASCII, where it may not.
    Plain,
}
