//! `faying serve DIR`.

use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use faying_build::{Build, Disk};
use faying_web::Settings;

use crate::{Ended, Failure, Outcome};

/// Serves a build to the browser, on this machine or on the workshop's network
#[derive(clap::Args)]
pub struct Arguments {
    /// The build's folder
    dir: PathBuf,
    #[command(flatten)]
    server: Server,
}

/// Where the pages are served.
#[derive(clap::Args)]
pub struct Server {
    /// Port; 0 takes a free one
    #[arg(long, default_value_t = 8711)]
    port: u16,
    /// Serve the workshop's network too, not only this machine
    #[arg(long)]
    lan: bool,
    /// A name, beside localhost, by which a browser may call; may be given several times
    #[arg(long)]
    host: Vec<String>,
    /// Does not sync the record; for the control of a test, which must see what that loses
    #[arg(long, hide = true)]
    without_sync: bool,
}

pub fn run(arguments: &Arguments) -> Ended {
    serve(&arguments.dir, &arguments.server)
}

pub fn serve(dir: &Path, server: &Server) -> Ended {
    let disk = Disk { sync: !server.without_sync, ..Disk::default() };
    let build = Build::open_with(dir, &disk).map_err(|error| Failure::of(&error))?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| Failure::of(&error))?;
    runtime.block_on(async {
        let address: IpAddr = if server.lan { [0, 0, 0, 0].into() } else { [127, 0, 0, 1].into() };
        let listener = tokio::net::TcpListener::bind((address, server.port)).await.map_err(|error| {
            Failure(format!(
                "port {} cannot be used ({error}): name another with --port, or --port 0 for a free one",
                server.port
            ))
        })?;
        let port = listener.local_addr().map_err(|error| Failure::of(&error))?.port();
        // The name that was asked for is the one to open; this machine's own is always there.
        let names: Vec<&str> = server.host.iter().map(String::as_str).chain(["localhost"]).collect();
        say!("Open http://{}:{port} in the browser; Ctrl-C ends.", names[0]);
        for name in &names[1..] {
            say!("Also http://{name}:{port}");
        }
        let settings = Settings { hosts: server.host.clone(), port, lan: server.lan };
        faying_web::serve(listener, Arc::new(build), settings, ended())
            .await
            .map_err(|error| Failure::of(&error))
    })?;
    say!("Closed; everything done is in the record.");
    Ok(Outcome::Clean)
}

/// Until somebody ends the server: Ctrl-C, or the system's own request.
async fn ended() {
    #[cfg(unix)]
    {
        let terminate = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate());
        if let Ok(mut terminate) = terminate {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}
