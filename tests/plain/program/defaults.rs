//! What need not be typed each time.

use crate::kit::program::{complaint, musterbench, said};
use std::fs;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, arguments: &[&str], variables: &[(&str, &str)]) -> Output {
    let mut command = musterbench(folder);
    command.args(arguments).envs(variables.iter().copied());
    command.output().expect("it starts")
}

#[test]
fn the_file_and_variables_stand_for_what_is_not_typed() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let file =
        "port = \"simulated\"\noperator = \"Ines\"\nkind = \"jetty-two\"\nrecords = \"kept\"\n";
    fs::write(folder.join("musterbench.toml"), file).expect("written");
    let test = ["test", "--module", "lock", "--unattended"];
    assert_eq!(complaint(&run(folder, &test, &[])), (0, String::new()));
    let report = fs::read_to_string(folder.join("kept/unsorted/lock/run-001.csv")).expect("there");
    assert!(report.contains(",Ines,") && report.contains(",jetty-two,"), "{report}");

    // What is typed comes before a variable, a variable before the file; and it is told.
    let variables = [("MUSTERBENCH_OPERATOR", "Jon"), ("MUSTERBENCH_KIND", "quay-four")];
    let typed = [&test[..], &["--module-sheet", "pier-four", "--verbose"]].concat();
    let output = run(folder, &typed, &variables);
    let (code, told) = complaint(&output);
    assert_eq!(code, 0, "{told}");
    assert!(told.contains("--operator Jon comes from MUSTERBENCH_OPERATOR"), "{told}");
    assert!(told.contains("--records kept comes from musterbench.toml"), "{told}");
    assert!(!told.contains("quay-four"), "{told}");
    let report = fs::read_to_string(folder.join("kept/unsorted/lock/run-002.csv")).expect("there");
    assert!(report.contains(",Jon,") && report.contains(",pier-four,"), "{report}");

    // What must be given may come from the file.
    let open = run(folder, &["lot", "open", "spring", "--count", "2"], &[]);
    assert_eq!(complaint(&open), (0, String::new()));
    assert!(said(&open).contains("jetty-two"));
    let hold = ["lot", "hold", "spring-01", "--reason", "cracked"];
    assert!(said(&run(folder, &hold, &[])).contains("Ines decided"));
    let help = run(folder, &["--help"], &[]);
    assert!(said(&help).contains("musterbench.toml"));
}

#[test]
fn a_file_that_is_wrong_is_told_where() {
    let folder = tempfile::tempdir().expect("a folder");
    for (text, told) in [
        ("oprator = \"Ines\"\n", "did you mean `operator`"),
        ("port = 3\n", "one line of text"),
        ("quiet = \"yes\"\n", "true or false"),
        ("port = \n", "no proper TOML"),
    ] {
        fs::write(folder.path().join("musterbench.toml"), text).expect("written");
        let (code, why) = complaint(&run(folder.path(), &["faults"], &[]));
        assert_eq!(code, 2, "{why}");
        let flat = why.split_whitespace().collect::<Vec<_>>().join(" ");
        let told = told.replace("no proper", "not proper");
        assert!(flat.contains("musterbench.toml") && flat.contains(&told), "{why}");
    }
}
