use std::process::ExitCode;

/// How a command ended, as its exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum ExitStatus {
    /// 0: done.
    Done = 0,
    /// 1: failed for another reason, such as an unreadable file.
    Failed = 1,
    /// 2: the command line is not understood, or lacks something.
    Usage = 2,
    /// 3: the data are wrong.
    Data = 3,
    /// 4: not enough data for the question.
    NotEnough = 4,
    /// 5: another program is writing to the book.
    InUse = 5,
    /// 6: the book is damaged.
    Damaged = 6,
    /// 7: done and saved, but the result could not be written: do not repeat the command.
    Kept = 7,
}

impl ExitStatus {
    pub fn code(self) -> u8 {
        self as u8
    }
}

impl From<ExitStatus> for ExitCode {
    fn from(status: ExitStatus) -> Self {
        Self::from(status.code())
    }
}
