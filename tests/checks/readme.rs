//! The README's sessions, run for real. Numbers may differ in the last printed digits, since a sled that
//! touches a wall magnifies the rounding of another machine: by 0.5 % or 0.02.

use crate::cli::sagitta;

/// True if two words are the same, or numbers near enough.
fn alike(a: &str, b: &str) -> bool {
    let number = |w: &str| w.trim_matches(|c: char| "(),:%".contains(c)).parse::<f64>().ok();
    match (number(a), number(b)) {
        // numerical errors and residuals are told to one digit and may be anything small
        (Some(x), Some(y)) if x.abs() < 0.2 && y.abs() < 0.2 => true,
        (Some(x), Some(y)) => (x - y).abs() <= 0.02 + 0.005 * x.abs(),
        _ => a == b,
    }
}

#[test]
fn cli_sessions_of_the_readme_are_true() {
    let readme = include_str!("../../README.md");
    let mut sessions = 0;
    for block in readme.split("```console\n").skip(1) {
        let (block, _) = block.split_once("\n```").expect("a session ends");
        let (command, told) = block.split_once('\n').expect("a session has output");
        let words: Vec<&str> = command
            .strip_prefix("$ cargo run --release -- ")
            .expect("a session is a command of the program")
            .split_whitespace()
            .collect();
        let output = sagitta(&words).output().unwrap();
        let made = String::from_utf8(output.stdout).unwrap();
        let (told, made) = (told.trim(), made.trim());
        let lines = told.lines().filter(|l| *l != "...");
        for line in lines {
            let same = |other: &str| {
                let (a, b): (Vec<&str>, Vec<&str>) =
                    (line.split_whitespace().collect(), other.split_whitespace().collect());
                a.len() == b.len() && a.iter().zip(&b).all(|(a, b)| alike(a, b))
            };
            assert!(made.lines().any(same), "`{command}` does not print\n{line}\nbut\n{made}");
        }
        sessions += 1;
    }
    assert!(sessions >= 2, "the README shows {sessions} sessions");
}
