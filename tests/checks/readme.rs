//! README and manual kept true: their sessions are run, its commands and their options exist, and what it calls the
//! test command is what the continuous check runs.

use crate::cli::sagitta;
use std::fs;
use std::path::Path;

const README: &str = include_str!("../../README.md");
const COMMANDS: &str = include_str!("../../docs/commands.md");
/// Pages with sessions.
const PAGES: [(&str, &str); 7] = [
    ("README.md", README),
    ("docs/descent.md", include_str!("../../docs/descent.md")),
    ("docs/bow.md", include_str!("../../docs/bow.md")),
    ("docs/lost-time.md", include_str!("../../docs/lost-time.md")),
    ("docs/studies.md", include_str!("../../docs/studies.md")),
    ("docs/trials.md", include_str!("../../docs/trials.md")),
    ("docs/race-week.md", include_str!("../../docs/race-week.md")),
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

/// The commands of a block with what each prints; a backslash at its end continues a command.
fn commands(block: &str) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = Vec::new();
    let joined = block.replace("\\\n", " ");
    for line in joined.lines() {
        match (line.strip_prefix("$ "), all.last_mut()) {
            (Some(command), _) => all.push((command.into(), String::new())),
            (None, Some((_, told))) => *told += &format!("{line}\n"),
            (None, None) => panic!("a session begins with a command: {block}"),
        }
    }
    all
}

/// The words of a command; what stands in double quotes is one word, or a part of one.
fn words(command: &str) -> Vec<String> {
    let mut quoted = false;
    let gap = |c: char| {
        quoted ^= c == '"';
        c == ' ' && !quoted
    };
    let words: Vec<&str> = command.split(gap).collect();
    words.into_iter().filter(|w| !w.is_empty()).map(|w| w.replace('"', "")).collect()
}

#[test]
fn house_commands_of_a_session_are_read_as_a_shell_reads_them() {
    let block = "$ sagitta a \\\n    --notes \"b  c\" d\ntold\n\nmore\n$ sagitta e\n";
    let read = commands(block);
    assert_eq!(read.iter().map(|r| r.1.as_str()).collect::<Vec<_>>(), ["told\n\nmore\n", ""]);
    assert_eq!(words(&read[0].0), ["sagitta", "a", "--notes", "b  c", "d"]);
    assert_eq!(words(&read[1].0), ["sagitta", "e"]);
}

/// What the commands of a page print is what it tells. `cargo run --release --` is run where the page stands, `sagitta`
/// in a folder of the page's own with the examples in it, one after the other. Gives how many there are.
fn run_sessions(page: &str, text: &str) -> usize {
    let folder = tempfile::tempdir().unwrap();
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    fs::create_dir(folder.path().join("examples")).unwrap();
    for file in fs::read_dir(examples).unwrap().map(Result::unwrap) {
        fs::copy(file.path(), folder.path().join("examples").join(file.file_name())).unwrap();
    }
    let mut sessions = 0;
    for block in text.split("```console\n").skip(1) {
        let (block, _) = block.split_once("\n```").expect("a session ends");
        for (command, told) in commands(block) {
            let words = words(&command);
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let output = match words.as_slice() {
                ["cargo", "run", "--release", "--", rest @ ..] => sagitta(rest).output().unwrap(),
                ["sagitta", rest @ ..] => sagitta(rest).current_dir(folder.path()).output().unwrap(),
                _ => panic!("a session is a command of the program: {command}"),
            };
            let made = String::from_utf8(output.stdout).unwrap();
            if let Some(why) = difference(&told, &made) {
                let said = String::from_utf8_lossy(&output.stderr);
                panic!("`{command}` does not print what {page} tells\n{why}\n\nin full:\n{made}{said}");
            }
            sessions += 1;
        }
    }
    sessions
}

#[test]
fn cli_sessions_of_readme_and_manual_are_true() {
    let sessions: usize = PAGES.iter().map(|(page, text)| run_sessions(page, text)).sum();
    assert!(sessions >= 20, "{sessions} sessions");
}

#[test]
#[should_panic(expected = "`sagitta notebook list b.csv` does not print what a page tells")]
fn cli_a_session_that_is_not_true_is_found() {
    let block = "```console\n$ sagitta notebook add b.csv --run 1 --finish 56.3\nentry 1 is in b.csv\n\
        $ sagitta notebook list b.csv\n...\n3 of 3 entries\n```\n";
    run_sessions("a page", block);
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
