use thiserror::Error;

/// Names in it are those of files in the backup, as they may be shown.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub(super) enum BackupError {
    #[error("not a backup of a book; `swellbook backup FILE` makes one")]
    Foreign,
    #[error("made by a newer swellbook; use the newer program")]
    Newer,
    #[error("cut off after {bytes} bytes; copy the file again")]
    CutOff { bytes: usize },
    #[error("damaged at byte {at}; use another copy of it")]
    DamagedAt { at: usize },
    #[error("{name} in it is damaged; use another copy of it")]
    Damaged { name: String },
    /// Every part is sound, but together they are not what the program writes.
    #[error("not as swellbook wrote it; use another copy of it")]
    Changed,
    #[error("it lacks {name}; use another copy of it")]
    Lacks { name: &'static str },
    #[error("it holds '{name}', which is not a plain file")]
    NotPlain { name: String },
    #[error("it holds '{name}', which is not a file of a book")]
    NotOfBook { name: String },
    #[error("{name} in it is larger than a file of a book may be")]
    Large { name: String },
    #[error("it holds {name} twice")]
    Twice { name: String },
    #[error("it lacks {name}, so it is not a whole book")]
    NotWhole { name: &'static str },
}
