//! placeholder
use std::sync::Arc;
/// s
#[derive(Debug)]
pub struct Settings {
    /// h
    pub hosts: Vec<String>,
    /// p
    pub port: u16,
    /// l
    pub lan: bool,
}
/// s
/// # Errors
/// e
pub async fn serve(
    _l: tokio::net::TcpListener,
    _b: Arc<faying_build::Build>,
    _s: Settings,
    _e: impl Future<Output = ()>,
) -> std::io::Result<()> {
    Ok(())
}
