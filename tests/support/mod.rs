//! What the tests share: running the program, folders to work in, comparing with what was expected.

pub mod case;
pub mod firm;
pub mod forged;
pub mod limits;
pub mod mutate;
pub mod page_code;
pub mod picture;
pub mod program;
pub mod record;
pub mod schema;
pub mod smtp;
pub mod workspace;
