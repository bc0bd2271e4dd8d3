//! Who may ask: the Host of every request, and the Origin of every post.
//!
//! A page on the open net must not be able to write into a workshop's record
//! through the builder's own browser, nor read it under a borrowed name.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::{App, Settings};

pub async fn guard(State(app): State<App>, request: Request, next: Next) -> Response {
    match refusal(&app.settings, request.method(), request.headers()) {
        None => {
            let mut response = next.run(request).await;
            let headers = response.headers_mut();
            for (name, value) in [
                (
                    header::CONTENT_SECURITY_POLICY,
                    "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; frame-ancestors 'none'",
                ),
                (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
                (header::REFERRER_POLICY, "same-origin"),
            ] {
                headers.insert(name, header::HeaderValue::from_static(value));
            }
            response
        }
        Some(why) => (StatusCode::FORBIDDEN, why).into_response(),
    }
}

/// Why a request is refused, if it is.
fn refusal(settings: &Settings, method: &Method, headers: &HeaderMap) -> Option<String> {
    let text = |name: header::HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let host = text(header::HOST).unwrap_or("");
    if !is_ours(settings, host) {
        let name = host.rsplit_once(':').map_or(host, |(name, _)| name);
        return Some(format!(
            "This name is not allowed: {name}. Start faying with --host {name} if it is yours."
        ));
    }
    if *method == Method::GET || *method == Method::HEAD {
        return None;
    }
    match text(header::ORIGIN) {
        Some(origin) if origin.strip_prefix("http://").is_some_and(|origin| origin == host) => None,
        Some(origin) => Some(format!("A page of {origin} may not write here.")),
        // A program on this machine sends no Origin; a browser always does.
        None if text(header::USER_AGENT).is_none_or(|agent| !agent.starts_with("Mozilla/")) => None,
        None => Some("The browser did not say which page this comes from.".to_owned()),
    }
}

fn is_ours(settings: &Settings, host: &str) -> bool {
    let (name, port) = match host.rsplit_once(':') {
        Some((name, port)) if !name.is_empty() => (name, port.parse::<u16>().ok()),
        _ => (host, Some(80)),
    };
    let named =
        matches!(name, "localhost" | "127.0.0.1" | "[::1]") || settings.hosts.iter().any(|host| host == name);
    // An address is no name that another page could borrow.
    let address = settings.lan && name.trim_matches(['[', ']']).parse::<std::net::IpAddr>().is_ok();
    (named || address) && port == Some(settings.port)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(method: Method, host: &str, origin: Option<&str>) -> Option<String> {
        let settings = Settings { hosts: vec!["bench.test".into()], port: 8711, lan: false };
        let mut headers = HeaderMap::new();
        headers.insert(header::HOST, host.parse().unwrap());
        headers.insert(header::USER_AGENT, "Mozilla/5.0".parse().unwrap());
        if let Some(origin) = origin {
            headers.insert(header::ORIGIN, origin.parse().unwrap());
        }
        refusal(&settings, &method, &headers)
    }

    #[test]
    fn only_our_names_are_answered() {
        assert_eq!(ask(Method::GET, "localhost:8711", None), None);
        assert_eq!(ask(Method::GET, "bench.test:8711", None), None);
        assert!(ask(Method::GET, "elsewhere.test:8711", None).is_some());
        assert!(ask(Method::GET, "localhost:9", None).is_some());
        assert!(ask(Method::GET, "192.168.1.5:8711", None).is_some(), "only with --lan");
        assert!(ask(Method::GET, "", None).is_some());
    }

    #[test]
    fn only_our_own_pages_write() {
        assert_eq!(ask(Method::POST, "localhost:8711", Some("http://localhost:8711")), None);
        for origin in ["http://elsewhere.test", "https://localhost:8711", "null", "http://bench.test:8711"] {
            assert!(ask(Method::POST, "localhost:8711", Some(origin)).is_some(), "{origin}");
        }
        assert!(ask(Method::POST, "localhost:8711", None).is_some());
    }
}
