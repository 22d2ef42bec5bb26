//! The command line: parse, run, and turn an error into a message and an exit code.

fn main() {}
