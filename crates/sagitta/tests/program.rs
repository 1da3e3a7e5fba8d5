//! The program starts, and says what it is. That this test exists also makes `cargo test --workspace` build the
//! program, which the checks under `tests/` run.

#[test]
fn cli_the_program_says_what_it_is() {
    let run = |argument: &str| {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_sagitta"))
            .arg(argument)
            .output()
            .expect("it starts");
        assert!(output.status.success());
        String::from_utf8(output.stdout).expect("text")
    };
    assert!(
        run("--help")
            .starts_with("Simulates a skeleton descent: what bow, ice and line do to time and control")
    );
    let version = run("--version");
    assert!(version.starts_with(concat!("sagitta ", env!("CARGO_PKG_VERSION"), " (")), "{version}");
}
