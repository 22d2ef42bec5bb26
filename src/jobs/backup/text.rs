//! The messages of `backup` and `restore --from`.

use super::answer::BackedUp;
use crate::book::Written;
use crate::terminal::number::plural;

pub(crate) fn backup_text(done: &BackedUp) -> String {
    let (file, files, size) = (&done.file, plural(done.files, "file"), size(done.bytes));
    let holds = holds_text(&done.holds);
    format!("wrote {file}: {files}, {size}, with {holds} (to restore: {})", done.restore)
}

pub(crate) fn restored_text(title: &str, dir: &str, holds: &Written) -> String {
    let holds = holds_text(holds);
    format!("made '{title}' again in {dir}, with {holds} (to undo: remove the folder)")
}

fn holds_text(holds: &Written) -> String {
    let always = [(holds.papers, "paper"), (holds.threads, "thread"), (holds.targets, "target")];
    let always = always.into_iter().chain([(holds.trials, "trial"), (holds.readings, "reading")]);
    let rest = [
        (holds.forecasts, "kept forecast"),
        (holds.plans, "saved plan"),
        (holds.strikes, "struck entry"),
    ];
    let rest = rest.into_iter().filter(|(count, _)| *count > 0);
    let parts: Vec<String> = always.chain(rest).map(|(count, noun)| plural(count, noun)).collect();
    parts.join(", ")
}

fn size(bytes: usize) -> String {
    match bytes {
        0..1_000_000 => format!("{} kB", bytes.div_ceil(1000)),
        _ => format!("{} MB", bytes.div_ceil(1_000_000)),
    }
}
