//! A function takes at most five arguments besides `self`, each with a name of its own. Values that
//! belong together are a struct with named fields, never a tuple.

use crate::support::sources;

const MOST: usize = 5;

/// Splits `text` at the commas outside all brackets, up to the bracket that closes it. Also returns
/// what follows that bracket.
fn split(text: &str) -> (Vec<&str>, &str) {
    let (mut depth, mut from, mut before, mut parts) = (0_usize, 0, ' ', Vec::new());
    for (at, sign) in text.char_indices() {
        match sign {
            '(' | '[' | '{' | '<' => depth += 1,
            // The arrow of a return type closes nothing.
            '>' if before == '-' => {}
            ')' | ']' | '}' | '>' if depth == 0 => {
                parts.push(text[from..at].trim());
                parts.retain(|part| !part.is_empty());
                return (parts, &text[at + 1..]);
            }
            ')' | ']' | '}' | '>' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(text[from..at].trim());
                from = at + 1;
            }
            _ => {}
        }
        before = sign;
    }
    (Vec::new(), "")
}

/// The functions of a source, with their arguments as written.
fn functions(code: &str) -> Vec<(&str, Vec<&str>)> {
    let function = |(at, begin): (usize, &str)| {
        let rest = &code[at + begin.len()..];
        let end = rest.find(|sign: char| !(sign.is_alphanumeric() || sign == '_'))?;
        let (name, rest) = rest.split_at(end);
        let rest = rest.strip_prefix('<').map_or(rest, |inside| split(inside).1);
        Some((name, split(rest.strip_prefix('(')?).0))
    };
    code.match_indices("fn ").filter_map(function).collect()
}

/// Whether an argument is a tuple, or a reference to one.
fn is_tuple(argument: &str) -> bool {
    let mut depth = 0_i32;
    let colon = argument.char_indices().find(|(_, sign)| {
        depth += i32::from("([{<".contains(*sign)) - i32::from(")]}>".contains(*sign));
        depth == 0 && *sign == ':'
    });
    let Some((at, _)) = colon else { return false };
    let kind = argument[at + 1..].trim_start().trim_start_matches('&');
    let kind = kind.trim_start_matches("mut ");
    kind.starts_with('(') && !["()", "(dyn ", "(impl "].iter().any(|other| kind.starts_with(other))
}

#[test]
fn no_function_takes_a_tuple_or_more_than_five_arguments() {
    let (mut count, mut wrong) = (0, Vec::new());
    for file in ["src", "tests", "benches"].into_iter().flat_map(sources) {
        let text = std::fs::read_to_string(&file).expect("text");
        let lines: Vec<&str> =
            text.lines().map(|line| line.split("//").next().unwrap_or("")).collect();
        for (name, arguments) in functions(&lines.join("\n")) {
            count += 1;
            let tuples = arguments.iter().filter(|it| is_tuple(it)).count();
            let others = arguments.iter().filter(|it| !it.ends_with("self")).count();
            if tuples > 0 || others > MOST {
                wrong.push(format!("{}: {name}({})", file.display(), arguments.join(", ")));
            }
        }
    }
    assert!(count > 5000, "only {count} functions were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_arguments_of_a_function_are_read_in_every_form() {
    // Not as they are written, or the test above would find them here.
    let code = "fun a() {}\npub(crate) fun b<'a, T: Fn(u8) -> u8>(self, (x, y): (f64, f64)) {}\n\
                fun c(\n    Point { x, .. }: &Point,\n    done: impl FnMut(usize, (u8, u8)),\n) {}\n\
                fun d(pair: &(u8, u8), _: (), list: &[(u8, u8)], any: &(dyn Any + Send)) {}";
    let code = code.replace("fun ", "fn ");
    let found = functions(&code);
    let counts: Vec<(&str, usize, usize)> = found
        .iter()
        .map(|(name, all)| (*name, all.len(), all.iter().filter(|it| is_tuple(it)).count()))
        .collect();
    assert_eq!(counts, [("a", 0, 0), ("b", 2, 1), ("c", 2, 0), ("d", 4, 1)]);
}
