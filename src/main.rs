//! Runs the command line on the streams of the process and returns its exit code.

#![forbid(unsafe_code)]

use std::process::ExitCode;
use swellbook::commands::run;
use swellbook::terminal::session::{Streams, Surroundings};

fn main() -> ExitCode {
    let mut input = std::io::stdin().lock();
    let mut out = anstream::stdout().lock();
    let mut err = anstream::stderr().lock();
    let streams = Streams { input: &mut input, out: &mut out, err: &mut err };
    run(std::env::args_os(), streams, Surroundings::of_process()).into()
}
