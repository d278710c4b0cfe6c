//! The handout shown in browsers on the local network: the one page, to whoever asks for it, and
//! nothing else.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop"
)]

mod common;

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Stdio};

use common::{done, dotwise, program};

/// The program showing a handout, ended with the test.
struct Shown {
    program: Child,
    at: String,
    said: String,
}

impl Drop for Shown {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

fn shown(more: &[&str]) -> Shown {
    let mut arguments = vec!["handout", "single", "--serve"];
    arguments.extend(more);
    let mut program = program(&arguments)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut lines = BufReader::new(program.stdout.take().expect("a pipe"));
    let mut said = String::new();
    lines.read_line(&mut said).expect("a line");
    lines.read_line(&mut said).expect("another");
    let at = said
        .split("http://")
        .nth(1)
        .and_then(|rest| rest.split('/').next());
    let at = at.expect("an address").to_owned();
    Shown { program, at, said }
}

fn asked(shown: &Shown, request: &[u8]) -> Vec<u8> {
    let mut stream = TcpStream::connect(&shown.at).expect("connected");
    // It may have hung up on what is too long.
    let _ = stream.write_all(request);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    answer
}

#[test]
fn it_shows_the_page_that_it_would_write_on_this_machine_alone() {
    let shown = shown(&[]);
    assert!(shown.at.starts_with("127.0.0.1:"), "{}", shown.said);
    assert!(
        shown.said.contains("Only this machine can see it"),
        "{}",
        shown.said
    );
    let page = done(&["handout", "single", "-o", "-"]);
    for _ in 0..3 {
        let answer = asked(&shown, b"GET / HTTP/1.1\r\nHost: a\r\n\r\n");
        assert!(answer.starts_with(b"HTTP/1.1 200 OK\r\n"));
        assert!(answer.ends_with(&page), "the page is another");
    }
    let head = asked(&shown, b"HEAD / HTTP/1.1\r\n\r\n");
    assert!(head.starts_with(b"HTTP/1.1 200 OK\r\n") && head.ends_with(b"\r\n\r\n"));
}

#[test]
fn that_valves_meet_is_said_on_the_terminal_before_anyone_comes() {
    let arguments = ["handout", "bench_four", "--cam-teeth", "4", "--serve"];
    let mut started = program(&arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut warned = BufReader::new(started.stderr.take().expect("a pipe"));
    let mut told = BufReader::new(started.stdout.take().expect("a pipe"));
    let shown = Shown {
        program: started,
        at: String::new(),
        said: String::new(),
    };
    // Where it is shown is said last.
    let mut said = String::new();
    told.read_line(&mut said).expect("a line");
    assert!(said.contains("http://127.0.0.1:"), "{said}");
    let mut warning = String::new();
    while !warning.ends_with("\n\n") && warned.read_line(&mut warning).expect("a line") > 0 {}
    drop(shown);
    let written = dotwise(&["handout", "bench_four", "--cam-teeth", "4", "-o", "-"]);
    assert!(warning.contains("VALVES MEET PISTONS"), "{warning}");
    assert_eq!(warning, String::from_utf8_lossy(&written.stderr));
}

#[test]
fn whatever_else_is_asked_of_it_gets_nothing() {
    let shown = shown(&["127.0.0.1:0"]);
    for (request, status) in [
        (
            &b"GET /etc/passwd HTTP/1.1\r\n\r\n"[..],
            &b"HTTP/1.1 404"[..],
        ),
        (b"GET /../../etc/passwd HTTP/1.1\r\n\r\n", b"HTTP/1.1 404"),
        (
            b"POST / HTTP/1.1\r\nContent-Length: 3\r\n\r\nabc",
            b"HTTP/1.1 405",
        ),
        (b"PUT / HTTP/1.1\r\n\r\n", b"HTTP/1.1 405"),
        (b"\0\xff\r\n\r\n", b"HTTP/1.1 400"),
    ] {
        let answer = asked(&shown, request);
        assert!(
            answer.starts_with(status),
            "{}",
            String::from_utf8_lossy(&answer)
        );
        assert!(answer.ends_with(b"Content-Length: 0\r\n") || answer.ends_with(b"\r\n\r\n"));
    }
    // A head without an end is hung up on.
    let long = [b"GET / HTTP/1.1\r\nX: ".as_slice(), &[b'x'; 200_000]].concat();
    assert_eq!(asked(&shown, &long), b"");
    assert!(asked(&shown, b"GET / HTTP/1.1\r\n\r\n").starts_with(b"HTTP/1.1 200"));
}

#[test]
fn an_address_that_it_cannot_have_is_refused_with_what_to_do() {
    let first = shown(&[]);
    for at in [first.at.as_str(), "192.0.2.1:1", "nowhere"] {
        let refused = dotwise(&["handout", "single", "--serve", at]);
        assert_eq!(refused.status.code(), Some(2), "{at}");
        assert!(!refused.stderr.is_empty());
    }
    let both = dotwise(&["handout", "single", "--serve", "-o", "x.html"]);
    assert_eq!(both.status.code(), Some(2));
}
