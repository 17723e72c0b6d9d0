//! A general instrument library, which knows nothing of us, drives the served bench.

use crate::prepared::finds_nothing_wrong;

#[test]
#[ignore = "needs python3, and the net for its packages"]
fn a_foreign_client_finds_nothing_wrong() {
    finds_nothing_wrong("foreign_client", "client.py");
}
