//! Two calls of one command go wrong: the command fails, then something happens while it rolls
//! back. Afterwards the book is as it was or complete, and what was said is true.
#![cfg(target_os = "linux")]

use crate::support::breaking::{Deed, assert_none};
use crate::support::shim::{EIO, EVERY, How, SYNCS};
use crate::support::writing::{ALL_DEEDS, sheet};

/// Where not all pairs are tried, one in this many is.
const STRIDE: usize = 5;

#[test]
fn a_sheet_is_whole_or_not_there_whatever_two_calls_fail() {
    assert_none(sheet().pairs(EVERY, How::Fail(EIO), 1));
}

#[test]
fn a_command_does_all_or_nothing_whatever_two_calls_fail() {
    let pairs = |deed: &fn() -> Deed| deed().pairs(EVERY, How::Fail(EIO), STRIDE);
    assert_none(ALL_DEEDS.iter().flat_map(pairs));
}

#[test]
fn a_command_whose_sync_fails_has_done_all_or_nothing_wherever_it_is_killed_then() {
    let pairs = |deed: &fn() -> Deed| deed().pairs(SYNCS, How::Kill, 1);
    assert_none(ALL_DEEDS.iter().flat_map(pairs));
}
