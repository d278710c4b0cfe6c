//! One page shown in browsers, by plain HTTP/1.1 (RFC 9112): read-only, and bounded in how much is
//! read, how long it takes, how many are answered and how long it goes on.
//!
//! Nothing is fetched and nothing is sent that was not asked for: it listens where it was told to, and
//! answers with the one page.

use std::io::{self, Read as _, Write as _};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use super::answer::{Answer, Error};
use crate::words::visible;

/// A club evening and some more.
const GOES_ON: Duration = Duration::from_secs(6 * 3600);
/// A class that loads the page again and again.
const MOST_REQUESTS: usize = 20_000;
/// A class at once; whoever comes when all are busy is turned away, and comes again.
const MOST_AT_ONCE: usize = 32;
/// What a browser says of itself is a tenth of this.
const MOST_HEAD_BYTES: usize = 16 * 1024;
/// Within which a request must be there, and an answer taken.
const EACH: Duration = Duration::from_secs(10);
/// How often it looks whether someone has come: a browser does not notice it.
const LOOKS: Duration = Duration::from_millis(20);

/// Shows a page until it is stopped, has answered often enough, or has gone on long enough; what it
/// warns of is said before anyone comes.
pub(super) fn page(
    at: SocketAddr,
    name: &str,
    page: &[u8],
    warning: &str,
) -> Result<Answer, Error> {
    let refused = |error: io::Error| {
        Error::line(
            format!("nothing can be shown at {at}: {error}"),
            "name an address of this machine with a port that is free, as in --serve 127.0.0.1:8080",
        )
    };
    let listener = TcpListener::bind(at).map_err(refused)?;
    listener.set_nonblocking(true).map_err(refused)?;
    let at = listener.local_addr().map_err(refused)?;
    // Whoever started it must know where before anyone comes; where nobody reads it, it shows all the same.
    let _ = io::stderr().write_all(warning.as_bytes());
    let _ = io::stdout().write_all(said(at, name).as_bytes());
    let _ = io::stdout().flush();
    let answered = show(&listener, page, GOES_ON, MOST_REQUESTS);
    Ok(Answer::text(format!(
        "Answered {answered} times; it shows the page no more.\n"
    )))
}

fn said(at: SocketAddr, name: &str) -> String {
    let name = visible(name);
    if at.ip().is_loopback() {
        return format!(
            "{name} at http://{at}/ until Ctrl+C, six hours at most.\n\
             Only this machine can see it. `--serve 0.0.0.0:8080` shows it to the local network.\n"
        );
    }
    let where_at = if at.ip().is_unspecified() {
        format!(
            "port {} of every address of this machine (http://ADDRESS:{}/)",
            at.port(),
            at.port()
        )
    } else {
        format!("http://{at}/")
    };
    format!(
        "{name} at {where_at} until Ctrl+C, six hours at most.\n\
         Whoever is on this network can see this page, and nothing else of this machine.\n"
    )
}

/// Answers whoever comes; gives how many.
fn show(listener: &TcpListener, page: &[u8], goes_on: Duration, most: usize) -> usize {
    let (page, busy): (Arc<[u8]>, _) = (page.into(), Arc::new(AtomicUsize::new(0)));
    let until = Instant::now() + goes_on;
    let mut answered = 0;
    while answered < most && Instant::now() < until {
        let Ok((stream, _)) = listener.accept() else {
            thread::sleep(LOOKS);
            continue;
        };
        answered += 1;
        if busy.fetch_add(1, Ordering::AcqRel) >= MOST_AT_ONCE {
            busy.fetch_sub(1, Ordering::AcqRel);
            continue;
        }
        let (page, own) = (Arc::clone(&page), Arc::clone(&busy));
        let answering = thread::Builder::new().spawn(move || {
            // Whoever goes away half way has had what it wanted.
            let _ = answer(stream, &page);
            own.fetch_sub(1, Ordering::AcqRel);
        });
        if answering.is_err() {
            busy.fetch_sub(1, Ordering::AcqRel);
        }
    }
    answered
}

/// One request, one answer, and the end of the connection.
fn answer(mut stream: TcpStream, page: &[u8]) -> io::Result<()> {
    stream.set_nonblocking(false)?;
    stream.set_write_timeout(Some(EACH))?;
    let head = head(&mut stream)?;
    let mut words = head.split(|byte| *byte == b' ');
    let (method, target) = (words.next(), words.next());
    let (status, more, body): (_, _, &[u8]) = match (method, target) {
        (Some(b"GET" | b"HEAD"), Some(b"/")) => ("200 OK", "", page),
        (Some(b"GET" | b"HEAD"), Some(_)) => ("404 Not Found", "", b""),
        (Some(_), Some(_)) => ("405 Method Not Allowed", "Allow: GET, HEAD\r\n", b""),
        _ => ("400 Bad Request", "", b""),
    };
    write!(
        stream,
        "HTTP/1.1 {status}\r\nContent-Type: text/html; charset=utf-8\r\nContent-Length: {}\r\n{more}Cache-Control: no-store\r\n\
         X-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\nConnection: close\r\n\r\n",
        body.len()
    )?;
    if method != Some(b"HEAD") {
        stream.write_all(body)?;
    }
    stream.flush()
}

/// The head of a request, up to its empty line; an error where it is too long or takes too long.
fn head(stream: &mut TcpStream) -> io::Result<Vec<u8>> {
    let until = Instant::now() + EACH;
    let (mut head, mut some) = (Vec::new(), [0; 1024]);
    while !head.windows(4).any(|end| end == b"\r\n\r\n") {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() || head.len() > MOST_HEAD_BYTES {
            return Err(io::ErrorKind::TimedOut.into());
        }
        stream.set_read_timeout(Some(left))?;
        match stream.read(&mut some)? {
            0 => return Err(io::ErrorKind::UnexpectedEof.into()),
            read => head.extend_from_slice(some.get(..read).unwrap_or_default()),
        }
    }
    Ok(head)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_ends_by_itself_after_so_many_and_after_so_long() {
        let listener = TcpListener::bind("127.0.0.1:0").expect("bound");
        listener.set_nonblocking(true).expect("set");
        let at = listener.local_addr().expect("an address");
        assert_eq!(show(&listener, b"page", Duration::from_millis(60), 9), 0);
        let coming = thread::spawn(move || {
            for _ in 0..2 {
                let mut stream = TcpStream::connect(at).expect("connected");
                stream.write_all(b"GET / HTTP/1.1\r\n\r\n").expect("asked");
                let mut text = String::new();
                stream.read_to_string(&mut text).expect("answered");
                assert!(text.ends_with("\r\n\r\npage"), "{text}");
            }
        });
        assert_eq!(show(&listener, b"page", Duration::from_secs(60), 2), 2);
        coming.join().expect("both were answered");
    }

    #[test]
    fn it_says_who_can_see_the_page() {
        let said = |at: &str| said(at.parse().expect("an address"), "Bench four");
        assert!(said("127.0.0.1:81").contains("Only this machine can see it"));
        assert!(said("0.0.0.0:81").contains("Whoever is on this network can see"));
        assert!(said("192.0.2.1:81").contains("http://192.0.2.1:81/"));
    }
}
