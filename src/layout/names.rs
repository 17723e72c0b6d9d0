//! When two names mean the same module.

/// What a name goes by. Some file systems tell no capitals from small letters, and the records of
/// two modules must not mix.
pub fn key(name: &str) -> String {
    name.to_lowercase()
}

/// Whether two names mean the same module.
pub fn is_same_name(one: &str, other: &str) -> bool {
    key(one) == key(other)
}
