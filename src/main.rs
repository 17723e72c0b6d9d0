//! Parse, dispatch, exit code.

fn main() {}
