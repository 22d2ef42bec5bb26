//! `completions`: prints a script that completes commands and options when Tab is pressed.

use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::Outcome;
use crate::terminal::session::Session;
use clap::Command;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap_complete::{Shell, generate};

/// Print the completions for a shell, so that Tab completes commands and options
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook completions bash
  swellbook completions powershell

The Linux packages have already put them in place for bash, zsh and fish.")]
#[command(after_long_help = "\
For bash, add the line `source <(swellbook completions bash)` to the file .bashrc.

For zsh, write them to a file named _swellbook in a folder listed in $fpath.

For fish, write them to .config/fish/completions/swellbook.fish.

For PowerShell, add the line `swellbook completions powershell | Out-String | Invoke-Expression` to \
the file that $PROFILE names.

Then open a new terminal. Names in your book are not completed.")]
pub(crate) struct Args {
    /// The shell
    #[arg(value_parser = PossibleValuesParser::new(["bash", "zsh", "fish", "powershell"])
        .try_map(|shell| shell.parse::<Shell>()))]
    shell: Shell,
}

/// Prints the completions of `program`.
pub(crate) fn run(args: &Args, mut program: Command, session: &mut Session<'_>) -> Outcome {
    let mut script = Vec::new();
    generate(args.shell, &mut program, "swellbook", &mut script);
    session.put(&script)?;
    Ok(ExitStatus::Done)
}
