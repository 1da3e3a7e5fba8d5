//! Notes and lines of people: what is understood, and every fault of a file at once with line and column.

use crate::cli::sagitta;
use crate::made::shipped;
use file_faults::FileFault;
use sled_dynamics::riding::line_file::{Aim, Place, Position, aimed_pieces, read_line};
use sled_dynamics::riding::notes::{Part, Unit, Word, usual_notes};
use sled_dynamics::riding::notes_read::{read_notes, read_phrase};
use std::fs;
use track_geometry::track::Hand;

#[test]
fn exact_notes_as_written() {
    let track = shipped("oskerdale");
    let text = "# training\n6, late, 0.3 m\n9,too much, 20 %\n11, tap right # video\n2 , Toe, 4m\n";
    let notes = read_notes("notes.csv", text, &track).unwrap();
    let told: Vec<_> = notes.iter().map(|n| (n.corner, n.word, n.size, n.said)).collect();
    let expected = [
        (5, Word::Late, 0.3, true),
        (8, Word::TooMuch, 0.2, true),
        (10, Word::Tap, 0.01, false),
        (1, Word::Toe, 4.0, true),
    ];
    assert_eq!(told, expected);
    assert_eq!(notes[2].side, Hand::Right);
    let late = notes[0].piece(&track, 30.0);
    assert_eq!((late.late_m, late.amount, late.aim_m), (0.3, 1.0, 0.0));
    // half of the straights beside the corner belong to it
    let corners = &track.data.corners;
    assert!((late.from_m - 0.5 * (corners[4].exit_m + corners[5].entry_m)).abs() < 1e-9);
    assert_eq!(notes[1].piece(&track, 30.0).amount, 1.2);
    // a wall is found beside a plan, not here
    assert_eq!(notes[2].piece(&track, 30.0).told, None);
    assert!(notes[3].understood(&track).contains("toe pressed"));
    assert!(notes[2].understood(&track).contains("size assumed"));
    assert_eq!(usual_notes(&track).len(), 6 * corners.len());
}

#[test]
fn exact_high_is_outwards_in_both_hands() {
    let track = shipped("oskerdale");
    for (i, corner) in track.data.corners.iter().enumerate() {
        let high = read_phrase("test", &format!("0.2 m high in corner {}", corner.name), &track).unwrap();
        assert_eq!((high.corner, high.word), (i, Word::High));
        let told = high.piece(&track, 30.0).told.unwrap();
        // the bank rises to the right in a left-hand corner
        assert_eq!(told.aside_m, if corner.hand == Hand::Left { -0.2 } else { 0.2 });
        assert_eq!(told.station_m, 0.5 * (corner.entry_m + corner.exit_m));
    }
}

#[test]
fn exact_sentences_and_what_they_lack() {
    let track = shipped("quillmere");
    let note = read_phrase("test", "0.3 m late into corner 6", &track).unwrap();
    assert_eq!((note.corner, note.word, note.size), (5, Word::Late, 0.3));
    let note = read_phrase("test", "toe in corner 2", &track).unwrap();
    assert_eq!((note.corner, note.word, note.said), (1, Word::Toe, false));
    for (text, column, part) in [
        ("0.3 m late", 1, "(corner): got none; allowed: the corners of"),
        ("banana in corner 3", 1, "(what): got \"banana\""),
        ("late late in corner 3", 6, "second word"),
        ("late 30 % in corner 3", 9, "allowed: m or s"),
        ("late in corner 33", 16, "(corner): got 33"),
        ("in corner 3", 1, "(what): got nothing"),
        ("late -2 m in corner 3", 6, "above 0"),
    ] {
        let faults = read_phrase("test", text, &track).unwrap_err();
        let told = |f: &FileFault| f.place.column == Some(column) && f.to_string().contains(part);
        assert!(faults.iter().any(told), "{text}: {faults:?}");
    }
}

#[test]
fn exact_words_of_the_trade() {
    let track = shipped("oskerdale");
    for (text, corner, word, part, size, unit) in [
        ("late by 0.1 s in corner 5", 4, Word::Late, Part::All, 0.1, Unit::Second),
        ("0.2 s late in 5", 4, Word::Late, Part::All, 0.2, Unit::Second),
        ("5 m late out of 7", 6, Word::Late, Part::Exit, 5.0, Unit::Metre),
        ("30 cm high into 9", 8, Word::High, Part::Entry, 0.3, Unit::Metre),
        ("high 20 cm out of corner 9", 8, Word::High, Part::Exit, 0.2, Unit::Metre),
        ("early into 3 by 80 ms", 2, Word::Early, Part::Entry, 0.08, Unit::Second),
        ("missed in 4", 3, Word::Missed, Part::All, 1.0, Unit::Percent),
        ("tap on the left wall in 4", 3, Word::Tap, Part::All, 0.01, Unit::Metre),
        ("skidded 12 deg out of 7", 6, Word::Skid, Part::Exit, 12.0, Unit::Degree),
        ("skid left in 2", 1, Word::Skid, Part::All, 10.0, Unit::Degree),
    ] {
        let note = read_phrase("test", text, &track).unwrap();
        assert_eq!((note.corner, note.word, note.part, note.unit), (corner, word, part, unit), "{text}");
        assert!((note.size - size).abs() < 1e-12, "{text}: {}", note.size); // rounding of a unit
    }
    let late = read_phrase("test", "late by 0.1 s into 5", &track).unwrap();
    let piece = late.piece(&track, 30.0);
    let corner = &track.data.corners[4];
    assert!((piece.late_m - 3.0).abs() < 1e-12); // 0.1 s at 30 m/s
    assert_eq!(piece.to_m, 0.5 * (corner.entry_m + corner.exit_m));
    // no side said: the outer wall, and why
    let tap = read_phrase("test", "tap in 4", &track).unwrap();
    assert!(tap.side != track.data.corners[3].hand && !tap.side_said);
    assert!(tap.understood(&track).contains("no side said") && tap.understood(&track).contains("outer"));
    for (text, column, part) in [
        ("late 0.9 s in 5", 6, "at most 0.5 s"),
        ("high 0.1 s in 5", 10, "allowed: m for \"high\""),
        ("skid 45 deg in 5", 6, "at most 30 deg"),
        ("skid 1 m in 5", 8, "allowed: deg for \"skid\""),
        ("sideways in 5", 1, "(what): got \"sideways\""),
    ] {
        let faults = read_phrase("test", text, &track).unwrap_err();
        let told = |f: &FileFault| f.place.column == Some(column) && f.to_string().contains(part);
        assert!(faults.iter().any(told), "{text}: {faults:?}");
    }
}

#[test]
fn exact_lines_as_written_and_as_pieces() {
    let track = shipped("quillmere");
    let text = "corner,position,offset_m,height_m,band_m\n6,entry,0.2,,0.1\n6,highest,,1.6,\n";
    let aims = read_line("line.csv", text, &track).unwrap();
    let expected = [
        Aim { corner: 5, position: Position::Entry, place: Place::OffsetM(0.2), band_m: 0.1 },
        Aim { corner: 5, position: Position::Highest, place: Place::HeightM(1.6), band_m: 0.2 },
    ];
    assert_eq!(aims, expected);
    // nothing was ridden: no corner to lay the line beside
    let (pieces, refused) = aimed_pieces(&track, &aims, &[]);
    assert!(pieces.is_empty() && refused.len() == 2 && refused[0].contains("does not reach"));
}

/// What the program says when it refuses files; it must end with status 2 and print no result.
fn refused(files: &[(&str, &str)], option: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let (name, text) = files[0];
    let path = folder.path().join(name);
    fs::write(&path, text).unwrap();
    let output = sagitta(&["losses", option, path.to_str().unwrap()]).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(output.stdout.is_empty());
    said
}

#[test]
fn exact_corners_as_people_write_them() {
    let track = shipped("quillmere");
    let of = |text: &str| -> Vec<_> {
        let notes = read_notes("notes.txt", text, &track).unwrap();
        notes.iter().map(|n| (track.data.corners[n.corner].name.clone(), n.word, n.size)).collect()
    };
    let plain = of("3, late, 2 m\n6, missed\n8, too much, 30 %\n10, toe left\n");
    assert_eq!(plain.iter().map(|n| n.0.as_str()).collect::<Vec<_>>(), ["3", "6", "8", "10"]);
    assert_eq!(of("C3 late 2 m\nCorner 6: missed\nturn 8, too much, 30 %\nCurve 10 toe left\n"), plain);
    assert_eq!(of("K3, late, 2 m\n6. missed\n8 too much 30 %\n corner 10, toe left\n"), plain);
    // a line whose first words are no corner is a fault, also where a corner follows
    let faults = read_notes("notes.txt", "late in 3\nC33 late\n", &track).unwrap_err();
    let said: Vec<_> = faults.iter().map(ToString::to_string).collect();
    assert!(said.iter().all(|s| s.contains("such as 3, late, 2 m")), "{said:?}");
    assert_eq!(said.len(), 2);
}

#[test]
fn cli_every_fault_of_notes_and_lines_at_once() {
    let notes =
        "99, late\n3, sideways\n4, late, 30 %\n5, late, 2 m\n5, early\njust words\n6, too much, 300 %\n";
    let said = refused(&[("notes.csv", notes)], "--notes");
    for part in [
        "notes.csv, line 1, column 1 (corner): got 99; allowed: the corners of",
        "notes.csv, line 2, column 4 (what): got \"sideways\"; allowed: late",
        "notes.csv, line 3, column 13 (size): got another unit; allowed: m or s for \"late\"",
        "notes.csv, line 5, column 1 (note): got a second note",
        "notes.csv, line 6, column 1 (note): got \"just words\"",
        "notes.csv, line 7, column 14 (size): got 300",
    ] {
        assert!(said.contains(part), "missing \"{part}\" in\n{said}");
    }
    let line = "corner,position,offset_m,hight\n9,middle,0.1,\nx,entry,,\n9,entry,50\n";
    let said = refused(&[("line.csv", line)], "--line");
    for part in [
        "line.csv, line 1, column 4 (heading): got hight; allowed: corner, position,",
        "line.csv, line 2, column 2 (position): got middle; allowed: entry, highest, exit",
        "line.csv, line 3, column 1 (corner): got x",
        "line.csv, line 3 (offset_m, height_m): got none of both; allowed: one of both",
        "line.csv, line 4, column 3 (offset_m): got 50; allowed: -20 to 20",
    ] {
        assert!(said.contains(part), "missing \"{part}\" in\n{said}");
    }
    assert!(refused(&[("empty.csv", "")], "--notes").contains("(note): got none"));
    assert!(refused(&[("empty.csv", "")], "--line").contains("(rows): got none"));
}

#[test]
fn cli_losses_says_what_it_needs() {
    for (arguments, part) in [
        (&["losses"][..], "nothing to compare"),
        (&["losses", "--model", "first-pilot", "--what-if", "late in corner 1"], "faults of a planned ride"),
        (&["losses", "--what-if", "late in corner 1", "--reference-set", "ice.temperature_c=-8"], "not both"),
        (&["losses", "--model", "first-pilot", "--reference-set", "ice.temperature_c"], "KEY=VALUE"),
        (&["losses", "--notes", "no-such-file.csv"], "cannot be read"),
        (&["descend", "--notes", "no-such-file.csv"], "cannot be read"),
    ] {
        let output = sagitta(arguments).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(said.contains(part), "{arguments:?}: {said}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn cli_a_set_up_against_itself_loses_nothing() {
    // a key set to the value it has: every figure must be nothing
    let set = "air.drag_area_m2=0.05";
    let common = ["losses", "--track", "tracks/quillmere", "--model", "first-pilot"];
    let arguments = [&common[..], &["--set", set, "--reference-set", set]].concat();
    let output = sagitta(&arguments).output().unwrap();
    assert!(output.status.success());
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("gap 0 ms,") && said.contains("remainder 0.00 ms"), "{said}");
    // the columns of causes that lose nothing are left out
    let rows = said.lines().skip_while(|l| !l.starts_with(" section")).skip(1).take_while(|l| !l.is_empty());
    let told: Vec<Vec<&str>> = rows.map(|l| l.split_whitespace().rev().take(2).collect()).collect();
    assert_eq!(told.len(), 14, "{said}"); // eleven corners, start, finish and the whole way
    assert!(told.iter().all(|r| *r == ["0", "0"]), "{said}");
}

#[test]
fn cli_a_lost_descent_is_a_result() {
    // nobody steers: control is lost, and there is no time to compare
    for arguments in [
        &["losses", "--model", "hands-off", "--reference-set", "ice.temperature_c=-8"][..],
        &["corners", "--model", "hands-off"],
    ] {
        let output = sagitta(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{arguments:?}");
        let said = String::from_utf8(output.stdout).unwrap();
        assert!(said.contains("control") && said.contains("injure"), "{said}");
    }
}
