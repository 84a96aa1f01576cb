//! Tests of the program as its users meet it: files in, exit code, streams and files out.
//!
//! One binary on purpose: each test binary links all of the typesetter.

mod suite;
mod support;
