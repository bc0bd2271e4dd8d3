//! Photographs over HTTP, from outside: what is taken in, what is refused and why, what comes back.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod common;

use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::time::Duration;

use common::{Server, build};

const PLAN: &str = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 3, called = \"MS20470AD4-4\" }\n[steps.all]\nsets = [\"A\"]\n";
const MEGABYTE: usize = 1024 * 1024;
/// The limit, as the page and the answer say it.
const MOST: usize = 40 * MEGABYTE;
const JPEG: &[u8] = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00 a rib in primer";

/// What was answered.
struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Answer {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    fn header(&self, name: &str) -> Option<&str> {
        let lines = self.head.lines().filter_map(|line| line.split_once(": "));
        lines.into_iter().find(|(key, _)| key.eq_ignore_ascii_case(name)).map(|(_, value)| value)
    }
}

/// One request, its headers as given and nothing added but the length.
fn ask(port: u16, first: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
    let mut request = format!("{first} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
    if headers.iter().all(|(name, _)| *name != "Host") {
        request += &format!("Host: localhost:{port}\r\n");
    }
    for (name, value) in headers {
        request += &format!("{name}: {value}\r\n");
    }
    stream.write_all(request.as_bytes()).unwrap();
    stream.write_all(b"\r\n").unwrap();
    stream.write_all(body).unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    let end = answer.windows(4).position(|it| it == b"\r\n\r\n").unwrap();
    let head = String::from_utf8(answer[..end].to_vec()).unwrap();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    Answer { status, head, body: answer[end + 4..].to_vec() }
}

fn send(port: u16, kind: &str, body: &[u8]) -> Answer {
    ask(port, "POST /photos", &[("Content-Type", kind)], body)
}

fn name_of(answer: &Answer) -> String {
    assert_eq!(answer.status, 200, "{}", answer.text());
    let told: serde_json::Value = serde_json::from_slice(&answer.body).unwrap();
    told["file"].as_str().unwrap().to_owned()
}

fn kept(kit: &Path) -> usize {
    std::fs::read_dir(kit.join("photos")).map_or(0, Iterator::count)
}

#[test]
fn the_bytes_come_back_for_ever() {
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let server = Server::start(&kit, &[]);
    let name = name_of(&send(server.port, "image/jpeg", JPEG));
    assert_eq!(name_of(&send(server.port, "image/jpeg", JPEG)), name);
    assert_eq!(kept(&kit), 1);

    let back = ask(server.port, &format!("GET /photos/{name}"), &[], b"");
    assert_eq!((back.status, back.body.as_slice()), (200, JPEG));
    assert_eq!(back.header("content-type"), Some("image/jpeg"));
    assert_eq!(back.header("cache-control"), Some("private, max-age=31536000, immutable"));
    assert_eq!(back.header("x-content-type-options"), Some("nosniff"));

    // A phone that does not know the type of its own file.
    let heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic";
    let name = name_of(&send(server.port, "application/octet-stream", heic));
    let back = ask(server.port, &format!("GET /photos/{name}"), &[], b"");
    assert_eq!((back.header("content-type"), back.body.as_slice()), (Some("image/heic"), &heic[..]));
}

#[test]
fn what_is_too_large_is_told_with_the_limit() {
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let server = Server::start(&kit, &[]);
    let mut large = JPEG.to_vec();
    large.resize(MOST + 1, 0);
    let answer = send(server.port, "image/jpeg", &large);
    assert_eq!(answer.status, 413);
    let told =
        "This file is larger than 40 MB, the most that is kept of one photograph; take it in a smaller size.";
    assert_eq!(answer.text(), told);
    assert_eq!(kept(&kit), 0);
    large.truncate(MOST);
    assert_eq!(send(server.port, "image/jpeg", &large).status, 200);
}

#[test]
fn what_is_no_photograph_is_refused_whatever_it_is_called() {
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let server = Server::start(&kit, &[]);
    let page = b"<!doctype html><script>fetch('/acts')</script>";
    let answer = send(server.port, "image/jpeg", page);
    let told = "This is no photograph that can be kept here; send a JPEG, PNG, WebP or HEIC picture.";
    assert_eq!((answer.status, answer.text().as_str()), (415, told));
    let answer = send(server.port, "text/html", JPEG);
    let told = "A photograph is sent as it is, as image/jpeg or image/png, and not as text/html.";
    assert_eq!((answer.status, answer.text().as_str()), (415, told));
    assert_eq!(send(server.port, "image/jpeg", b"").status, 415);
    assert_eq!(kept(&kit), 0);
}

#[test]
fn only_our_own_pages_and_names_put_and_get() {
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let server = Server::start(&kit, &[]);
    let other = [("Content-Type", "image/jpeg"), ("Origin", "http://elsewhere.test")];
    assert_eq!(ask(server.port, "POST /photos", &other, JPEG).status, 403);
    let borrowed = [("Content-Type", "image/jpeg"), ("Host", "elsewhere.test")];
    assert_eq!(ask(server.port, "POST /photos", &borrowed, JPEG).status, 403);
    let browser = [("Content-Type", "image/jpeg"), ("User-Agent", "Mozilla/5.0")];
    assert_eq!(ask(server.port, "POST /photos", &browser, JPEG).status, 403);
    assert_eq!(kept(&kit), 0);

    let name = name_of(&send(server.port, "image/jpeg", JPEG));
    let get = format!("GET /photos/{name}");
    assert_eq!(ask(server.port, &get, &[("Host", "elsewhere.test")], b"").status, 403);
    // A phone that took it while another build was open at this address.
    let answer = ask(server.port, "POST /photos?build=copy-0", &[("Content-Type", "image/png")], JPEG);
    assert_eq!(answer.status, 409, "{}", answer.text());
    assert!(answer.text().starts_with("This photograph was taken on a page of another build"));
}

#[test]
fn what_is_missing_or_has_changed_is_told_and_nothing_else_is_served() {
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let server = Server::start(&kit, &[]);
    let name = name_of(&send(server.port, "image/jpeg", JPEG));
    for wrong in ["..%2Frecord.faying", "..%2Fplan%2Ftab.toml", "a.jpg", &name.to_uppercase()] {
        let answer = ask(server.port, &format!("GET /photos/{wrong}"), &[], b"");
        assert_eq!(answer.status, 404, "{wrong}");
    }
    std::fs::write(kit.join("photos").join(&name), b"\xff\xd8\xff\xe0 painted over").unwrap();
    let answer = ask(server.port, &format!("GET /photos/{name}"), &[], b"");
    assert_eq!(answer.status, 500);
    assert!(answer.text().contains("not the bytes that were kept under this name"), "{}", answer.text());
    // Sent again, it is whole again.
    assert_eq!(name_of(&send(server.port, "image/jpeg", JPEG)), name);
    assert_eq!(ask(server.port, &format!("GET /photos/{name}"), &[], b"").body, JPEG);
    std::fs::remove_file(kit.join("photos").join(&name)).unwrap();
    let answer = ask(server.port, &format!("GET /photos/{name}"), &[], b"");
    let told = "This photograph is not in the build's folder photos/; take the file from a copy.";
    assert_eq!((answer.status, answer.text().as_str()), (404, told));
}

#[test]
fn a_step_that_is_not_there_is_told() {
    let folder = build(PLAN);
    let server = Server::start(&folder.path().join("kit"), &[]);
    let answer = ask(server.port, "GET /step/tab/none", &[], b"");
    assert_eq!(answer.status, 404);
    assert!(answer.text().contains("The plan has no step tab/none."));
    assert_eq!(ask(server.port, "GET /step/tab/all", &[], b"").status, 200);
    assert_eq!(ask(server.port, "GET /photos", &[], b"").status, 200);
}
