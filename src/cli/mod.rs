//! One file a command: read arguments, call the library, print.
