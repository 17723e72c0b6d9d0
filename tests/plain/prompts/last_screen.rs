//! What stands on the screen when a run is over.

use super::terminal::{ROWS, Terminal};

fn screen_of(arguments: &[&str]) -> (u32, Vec<String>) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut all = vec!["test", "--module", "lock-7", "--port", "simulated", "--unattended"];
    all.extend(arguments);
    let mut terminal = Terminal::start(folder.path(), &all);
    let code = terminal.ends();
    (code, terminal.screen())
}

#[test]
fn the_verdict_stands_large_at_the_end_of_the_screen() {
    for (fault, code, letters) in
        [("none", 0, "██████"), ("contact-burnt", 1, "████████"), ("feed-lead-off", 1, "████████")]
    {
        let (ended, screen) =
            if fault == "none" { screen_of(&[]) } else { screen_of(&["--fault", fault]) };
        assert_eq!(ended, code, "{screen:#?}");
        let last = screen.iter().rposition(|row| !row.is_empty()).expect("something");
        let first = screen.iter().position(|row| row.starts_with("module lock-7")).expect("shown");
        assert!(last < usize::from(ROWS) && last + 1 - first <= 15, "{screen:#?}");
        assert!(screen[first..=last].iter().any(|row| row.contains(letters)), "{screen:#?}");
        // Under the letters one sentence with the finding and one with what to do.
        let large = screen.iter().rposition(|row| row.contains('█')).expect("letters");
        assert!((2..=6).contains(&(last - large)), "{screen:#?}");
    }
}
