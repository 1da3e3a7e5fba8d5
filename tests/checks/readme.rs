//! README and manual kept true: their sessions are run, its commands and their options exist, and what it calls the
//! test command is what the continuous check runs.

use crate::cli::sagitta;

const README: &str = include_str!("../../README.md");
const COMMANDS: &str = include_str!("../../docs/commands.md");
/// Pages with sessions.
const PAGES: [(&str, &str); 6] = [
    ("README.md", README),
    ("docs/descent.md", include_str!("../../docs/descent.md")),
    ("docs/bow.md", include_str!("../../docs/bow.md")),
    ("docs/lost-time.md", include_str!("../../docs/lost-time.md")),
    ("docs/studies.md", include_str!("../../docs/studies.md")),
    ("docs/trials.md", include_str!("../../docs/trials.md")),
];

/// A number with what stands around it, such as `(0.36` or `54.799,`.
fn number(word: &str) -> Option<(f64, &str)> {
    let digits = word.trim_matches(|c: char| "(),:;%".contains(c));
    Some((digits.parse::<f64>().ok()?, digits))
}

/// True if two words are the same, or numbers one unit of the last printed digit apart: another machine may
/// round the last digit the other way. What is told as a power of ten is rounding noise itself; it only has to
/// stay as small.
fn alike(told: &str, made: &str) -> bool {
    let (Some((x, digits)), Some((y, _))) = (number(told), number(made)) else { return told == made };
    if digits.contains('e') {
        // noise grows and shrinks by an order of magnitude with a change of rounding
        return y.abs() <= 10.0 * x.abs();
    }
    let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len() as i32);
    // the half makes room for the rounding of the difference itself
    (x - y).abs() <= 1.5 * 10f64.powi(-decimals)
}

fn same_line(told: &str, made: &str) -> bool {
    let [a, b] = [told, made].map(|l| l.split_whitespace().collect::<Vec<_>>());
    a.len() == b.len() && a.iter().zip(&b).all(|(a, b)| alike(a, b))
}

/// Why what is told is not what was made; `...` stands for lines left out.
fn difference(told: &str, made: &str) -> Option<String> {
    let mut made = made.trim().lines().peekable();
    let mut left_out = false;
    for line in told.trim().lines() {
        if line == "..." {
            left_out = true;
            continue;
        }
        let found = if left_out { made.find(|m| same_line(line, m)) } else { made.next() };
        left_out = false;
        if !found.is_some_and(|m| same_line(line, m)) {
            return Some(format!("told: {line}\nmade: {}", found.unwrap_or("nothing more")));
        }
    }
    match made.next() {
        Some(more) if !left_out => Some(format!("not told: {more}")),
        _ => None,
    }
}

#[test]
fn house_sessions_are_compared_line_by_line() {
    let made = "finish 54.799 s\n\n a 1.0\n b 2.0\nrest 5.4e-10\n";
    let same = |told: &str| difference(told, made).is_none();
    assert!(same(made) && same("finish 54.798 s\n\n a 1.0\n...\n") && same("...\nrest 1.4e-10"));
    for wrong in ["finish 54.799 s\n\n a 1.0\n", "finish 54.796 s\n...", "finish 54.799 s\n b 2.0\n..."] {
        assert!(!same(wrong), "{wrong}");
    }
    for wrong in ["...\n b 2.0\n a 1.0\n...", "...\nrest 5.4e-12", "...\n b 2.0 3.0\n..."] {
        assert!(!same(wrong), "{wrong}");
    }
}

#[test]
fn cli_sessions_of_readme_and_manual_are_true() {
    let mut sessions = 0;
    for (page, block) in
        PAGES.iter().flat_map(|(p, text)| text.split("```console\n").skip(1).map(move |b| (p, b)))
    {
        let (block, _) = block.split_once("\n```").expect("a session ends");
        let (command, told) = block.split_once('\n').expect("a session has output");
        let words: Vec<&str> = command
            .strip_prefix("$ cargo run --release -- ")
            .expect("a session is a command of the program")
            .split_whitespace()
            .collect();
        let output = sagitta(&words).output().unwrap();
        let made = String::from_utf8(output.stdout).unwrap();
        if let Some(why) = difference(told, &made) {
            panic!("`{command}` does not print what {page} tells\n{why}\n\nin full:\n{made}");
        }
        sessions += 1;
    }
    assert!(sessions >= 9, "{sessions} sessions");
}

#[test]
fn cli_commands_of_the_manual_exist_with_their_options() {
    let mut commands = 0;
    for row in COMMANDS.lines().filter_map(|l| l.strip_prefix("| `sagitta ")) {
        let (command, rest) = row.split_once('`').unwrap();
        let names: Vec<&str> = command
            .split_whitespace()
            .take_while(|w| w.chars().all(|c| c.is_ascii_lowercase() || c == '-') && !w.starts_with('-'))
            .collect();
        let output = sagitta(&[names.as_slice(), &["--help"]].concat()).output().unwrap();
        assert!(output.status.success(), "sagitta {command}");
        let help = String::from_utf8(output.stdout).unwrap();
        let told = format!("{command} {rest}");
        for option in told.split(|c: char| !(c.is_ascii_lowercase() || c == '-')) {
            if option.starts_with("--") && option.len() > 2 {
                assert!(help.contains(option), "sagitta {command} has no {option}");
            }
        }
        commands += 1;
    }
    let help = String::from_utf8(sagitta(&["--help"]).output().unwrap().stdout).unwrap();
    let listed = help.split("Commands:").nth(1).unwrap().split("\n\n").next().unwrap();
    for name in listed.lines().filter_map(|l| l.split_whitespace().next()).filter(|n| *n != "help") {
        assert!(COMMANDS.contains(&format!("| `sagitta {name}")), "docs/commands.md does not tell of {name}");
    }
    assert!(commands >= 6, "{commands}");
}

#[test]
fn house_the_readme_and_the_continuous_check_run_the_same_tests() {
    let check = include_str!("../../.ci/run");
    let command = "cargo test --workspace";
    assert!(README.lines().any(|l| l.trim() == command));
    assert!(check.lines().any(|l| l.split('|').next().is_some_and(|c| c.trim() == command)));
}
