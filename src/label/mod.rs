//! What labels are made of: drawings, the code that a scanner reads, and sheets of stickers.
//!
//! | file | holds |
//! | --- | --- |
//! | [`svg`], [`fit`] | plain drawings in millimetres, and texts that fit their room |
//! | [`check_character`] | ISO/IEC 7064, MOD 37-2 |
//! | [`code`] | lot and serial as a scanner reads them, and back |
//! | [`qr`] | that as a QR code, drawn |
//! | [`sheet`] | a sheet of labels, described in TOML |
//! | [`sticker`] | what stands on a sticker, a label and a tag of a module |
//! | [`page`] | sheets filled with them, and the test page |

pub mod check_character;
pub mod code;
pub mod fit;
pub mod page;
pub mod qr;
pub mod sheet;
pub mod sticker;
pub mod svg;
