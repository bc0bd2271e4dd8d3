//! `faying serve DIR`.

use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use faying_build::Build;
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
}

pub fn run(arguments: &Arguments) -> Ended {
    serve(&arguments.dir, &arguments.server)
}

pub fn serve(dir: &Path, server: &Server) -> Ended {
    let build = Build::open(dir).map_err(|error| Failure::of(&error))?;
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
        println!("Open http://localhost:{port} in the browser; Ctrl-C ends.");
        for host in &server.host {
            println!("Also http://{host}:{port}");
        }
        let settings = Settings { hosts: server.host.clone(), port, lan: server.lan };
        let ending = async {
            let _ = tokio::signal::ctrl_c().await;
        };
        faying_web::serve(listener, Arc::new(build), settings, ending)
            .await
            .map_err(|error| Failure::of(&error))
    })?;
    println!("Closed; everything done is in the record.");
    Ok(Outcome::Clean)
}
