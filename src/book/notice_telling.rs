use super::notice::Notice;

/// Which commands show a notice, besides `audit`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telling {
    /// Only `audit`.
    Audited,
    /// Every command that opens the book.
    Opened,
    /// A command that adds to the file.
    Written,
}

impl Notice {
    pub fn telling(&self) -> Telling {
        match self {
            // A folder that is half synchronised looks like this, and so does an older copy.
            Self::Edited { .. } if self.has_lost_lines() => Telling::Opened,
            Self::BlankRows { .. }
            | Self::UnreadColumn { .. }
            | Self::ReadColumns { .. }
            | Self::NotAdded { .. }
            | Self::ReadAs { .. }
            | Self::Struck { .. }
            | Self::Lacking { .. }
            | Self::Aside { .. }
            | Self::Copy { .. }
            | Self::Unwatched { .. } => Telling::Audited,
            Self::Finished { .. }
            | Self::TakenBack { .. }
            | Self::CutOff { .. }
            | Self::Shorter { .. }
            | Self::Unsure { .. } => Telling::Opened,
            Self::SetAside { .. }
            | Self::Saved { .. }
            | Self::Edited { .. }
            | Self::Untidy { .. } => Telling::Written,
        }
    }
}
