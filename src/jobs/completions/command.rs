//! `completions`: prints a script that completes commands and options when Tab is pressed.

use crate::terminal::refusal::Outcome;
use crate::terminal::session::Session;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Arg, Command, ValueHint};
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

pub(crate) fn run(args: &Args, program: Command, session: &mut Session<'_>) -> Outcome {
    let (mut program, mut script) = (hinted(program), Vec::new());
    generate(args.shell, &mut program, "swellbook", &mut script);
    if args.shell == Shell::Fish {
        script.extend(words_for_fish(&program).into_bytes());
    }
    session.put(&script)
}

/// The command line with the hint that a value is not a file, unless it is a path.
fn hinted(program: Command) -> Command {
    let hinted_arg = |arg: Arg| match is_open(&arg) {
        true => arg.value_hint(ValueHint::Other),
        false => arg,
    };
    program.mut_args(hinted_arg).mut_subcommands(hinted)
}

/// Whether any text may be given, but no path and none of a few words.
fn is_open(arg: &Arg) -> bool {
    arg.get_value_hint() == ValueHint::Unknown && arg.get_possible_values().is_empty()
}

/// What the library leaves out for fish: words such as kinds and shells that follow a command.
fn words_for_fish(program: &Command) -> String {
    let mut script = String::new();
    for command in program.get_subcommands() {
        let is_path =
            |arg: &Arg| !matches!(arg.get_value_hint(), ValueHint::Unknown | ValueHint::Other);
        let mut positionals = command.get_positionals().peekable();
        if positionals.peek().is_none() || command.get_positionals().any(is_path) {
            continue;
        }
        let values = positionals.flat_map(Arg::get_possible_values);
        let words: Vec<String> = values.map(|value| value.get_name().to_owned()).collect();
        script += &format!(
            "complete -c swellbook -n \"__fish_swellbook_using_subcommand {}\" -f -a \"{}\"\n",
            command.get_name(),
            words.join(" ")
        );
    }
    script
}
