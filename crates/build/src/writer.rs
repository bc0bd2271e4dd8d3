//! The one writer: acts in, rows on the disk, then the answer.
//!
//! A thread owns the ledger. It takes whatever acts have arrived, checks each
//! against the world as the ones before it have left it, appends all their
//! rows in one transaction, and only then answers.

use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError, RwLock, RwLockReadGuard};
use std::thread::JoinHandle;

use faying_ledger::{Ledger, Reader, Row, RowHash};
use faying_record::{Envelope, Event};

use crate::act::{ActRequest, Answer, check};
use crate::clock;
use crate::error::BuildError;
use crate::folder::{Folder, Stamp};
use crate::search::Searches;
use crate::world::{PlanSide, World};

/// Most acts that share one write.
const TOGETHER: usize = 256;

type Reply = Box<dyn FnOnce(Result<Answer, String>) + Send>;

enum Order {
    Act(Box<ActRequest>, Reply),
    Reload(Box<dyn FnOnce(Result<(), String>) + Send>),
}

/// How the record's file is treated; only tests want it otherwise.
#[doc(hidden)]
#[derive(Clone, Copy, Debug)]
pub struct Disk {
    /// Whether an answer waits for the disk.
    pub sync: bool,
    /// Most pages that the file may have, as on a disk that fills up.
    pub pages: Option<u32>,
}

impl Default for Disk {
    fn default() -> Self {
        Self { sync: true, pages: None }
    }
}

/// An open build.
#[derive(Debug)]
pub struct Build {
    folder: Folder,
    pub(crate) world: Arc<RwLock<World>>,
    pub(crate) version: Arc<AtomicU64>,
    pub(crate) searches: Searches,
    stamp: Mutex<Stamp>,
    orders: Option<Sender<Order>>,
    writer: Option<JoinHandle<()>>,
}

impl Build {
    /// Opens a folder: reads the plan, opens or makes the record, folds it.
    ///
    /// # Errors
    /// [`BuildError`] where it is no build, where another server has it open,
    /// or where the record cannot be read.
    pub fn open(path: &Path) -> Result<Self, BuildError> {
        Self::open_with(path, &Disk::default())
    }

    /// Opens a folder with a record that is treated otherwise; for tests.
    ///
    /// # Errors
    /// As [`Build::open`].
    #[doc(hidden)]
    pub fn open_with(path: &Path, disk: &Disk) -> Result<Self, BuildError> {
        let folder = Folder::open(path)?;
        let stamp = folder.stamp()?;
        let side = PlanSide::of(folder.texts()?);
        let record = folder.record();
        let since = clock::now();
        let mut ledger =
            if record.exists() { Ledger::open(&record, &since)? } else { Ledger::create(&record, &since)? };
        if !disk.sync {
            drop(ledger);
            ledger = Ledger::open_without_sync(&record, &since)?;
        }
        if let Some(pages) = disk.pages {
            ledger.limit_pages(pages)?;
        }
        let world = Arc::new(RwLock::new(World::new(side, envelopes(&ledger)?, copy_name(path)?)));
        let version = Arc::new(AtomicU64::new(1));
        let (orders, inbox) = channel();
        let chain = Chain::of(&ledger, path)?;
        let writing = Writer {
            ledger,
            chain,
            folder: folder.clone(),
            world: Arc::clone(&world),
            version: Arc::clone(&version),
        };
        let writer = std::thread::Builder::new()
            .name("record".to_owned())
            .spawn(move || writing.run(&inbox))
            .map_err(BuildError::file(&record))?;
        Ok(Self {
            folder,
            world,
            version,
            searches: Searches::default(),
            stamp: Mutex::new(stamp),
            orders: Some(orders),
            writer: Some(writer),
        })
    }

    /// The world of a folder for looking only: nothing is locked, made or written.
    ///
    /// # Errors
    /// [`BuildError`] where it is no build, or the record cannot be read.
    pub fn read(path: &Path) -> Result<World, BuildError> {
        let folder = Folder::open(path)?;
        let side = PlanSide::of(folder.texts()?);
        let record = folder.record();
        let envelopes = if record.exists() { envelopes(&Reader::open(&record)?)? } else { Vec::new() };
        Ok(World::new(side, envelopes, copy_name(path)?))
    }

    /// The folder.
    #[must_use]
    pub const fn folder(&self) -> &Folder {
        &self.folder
    }

    /// The world as it is now.
    pub fn world(&self) -> RwLockReadGuard<'_, World> {
        self.world.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// Rises with everything that changes what a page shows.
    #[must_use]
    pub fn version(&self) -> u64 {
        self.version.load(Ordering::Acquire)
    }

    /// Sends an act to the writer; `reply` is called when it is on the disk or refused.
    pub fn send(&self, act: ActRequest, reply: impl FnOnce(Result<Answer, String>) + Send + 'static) {
        let closed = "the record is closed".to_owned();
        match &self.orders {
            Some(orders) => {
                // The writer's end only goes away with the thread; its replies then go unanswered,
                // and the sender learns of it by the dropped reply.
                let _ = orders.send(Order::Act(Box::new(act), Box::new(reply)));
            }
            None => reply(Err(closed)),
        }
    }

    /// Does an act and waits for it to be on the disk.
    ///
    /// # Errors
    /// [`BuildError::Failed`] where it could not be written, such as on a full disk;
    /// [`BuildError::Closed`] where the record cannot be written any more.
    pub fn act(&self, act: ActRequest) -> Result<Answer, BuildError> {
        let (answer, answered) = channel();
        self.send(act, move |result| {
            let _ = answer.send(result);
        });
        match answered.recv() {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(why)) => Err(BuildError::Failed(why)),
            Err(_) => Err(BuildError::Closed("its thread has ended".to_owned())),
        }
    }

    /// Reads the text files again if any of them has changed.
    ///
    /// # Errors
    /// [`BuildError`] where they cannot be read.
    pub fn refresh(&self) -> Result<bool, BuildError> {
        let now = self.folder.stamp()?;
        let mut stamp = self.stamp.lock().unwrap_or_else(PoisonError::into_inner);
        if *stamp == now {
            return Ok(false);
        }
        let (answer, answered) = channel();
        if let Some(orders) = &self.orders {
            let _ = orders.send(Order::Reload(Box::new(move |result| {
                let _ = answer.send(result);
            })));
        }
        match answered.recv() {
            Ok(Ok(())) => {
                *stamp = now;
                Ok(true)
            }
            Ok(Err(why)) => Err(BuildError::Failed(why)),
            Err(_) => Err(BuildError::Closed("its thread has ended".to_owned())),
        }
    }
}

impl Drop for Build {
    fn drop(&mut self) {
        self.searches.close();
        self.orders = None;
        if let Some(writer) = self.writer.take() {
            let _ = writer.join();
        }
    }
}

fn envelopes(ledger: &Reader) -> Result<Vec<Envelope>, BuildError> {
    let mut envelopes = Vec::new();
    for held in ledger.rows_since(faying_ledger::Position::START) {
        envelopes.push(Envelope::from_bytes(&held?.row.bytes)?);
    }
    Ok(envelopes)
}

/// Name of a copy of a build: another machine or place is another copy, and another writer.
fn copy_name(path: &Path) -> Result<String, BuildError> {
    let place = std::fs::canonicalize(path).map_err(BuildError::file(path))?;
    let machine = std::fs::read_to_string("/etc/machine-id").unwrap_or_default();
    let name = blake3::hash(format!("{machine}\n{}", place.display()).as_bytes());
    Ok(format!("copy-{}", &name.to_hex()[..12]))
}

/// This copy's own chain.
#[derive(Clone, Debug)]
struct Chain {
    writer: String,
    seq: u64,
    prev: RowHash,
}

impl Chain {
    fn of(ledger: &Ledger, path: &Path) -> Result<Self, BuildError> {
        let writer = copy_name(path)?;
        let head = ledger.heads()?.into_iter().find(|head| head.writer == writer);
        Ok(match head {
            Some(head) => Self { writer, seq: head.seq, prev: head.hash },
            None => Self { writer, seq: 0, prev: RowHash::NONE },
        })
    }
}

struct Writer {
    ledger: Ledger,
    chain: Chain,
    folder: Folder,
    world: Arc<RwLock<World>>,
    version: Arc<AtomicU64>,
}

impl Writer {
    fn run(mut self, inbox: &Receiver<Order>) {
        while let Ok(first) = inbox.recv() {
            let mut acts = Vec::new();
            let mut next = Some(first);
            while let Some(order) = next {
                match order {
                    Order::Act(act, reply) => acts.push((*act, reply)),
                    Order::Reload(reply) => {
                        self.write(std::mem::take(&mut acts));
                        reply(self.reload().map_err(|error| error.to_string()));
                    }
                }
                next = if acts.len() < TOGETHER { inbox.try_recv().ok() } else { None };
            }
            self.write(acts);
        }
    }

    fn reload(&mut self) -> Result<(), BuildError> {
        let side = PlanSide::of(self.folder.texts()?);
        let envelopes = envelopes(&self.ledger)?;
        let mut world = self.world.write().unwrap_or_else(PoisonError::into_inner);
        let version = world.version + 1;
        *world = World::new(side, envelopes, self.chain.writer.clone());
        world.version = version;
        self.version.store(version, Ordering::Release);
        Ok(())
    }

    /// Checks, writes and answers some acts.
    ///
    /// Each act is folded as it is checked, so that the next one sees it; no
    /// reader does before all are on the disk, because the world is held
    /// meanwhile. If the write fails, the world is made anew from the disk.
    fn write(&mut self, acts: Vec<(ActRequest, Reply)>) {
        if acts.is_empty() {
            return;
        }
        let shared = Arc::clone(&self.world);
        let mut world = shared.write().unwrap_or_else(PoisonError::into_inner);
        let chain = self.chain.clone();
        let mut rows = Vec::new();
        let mut replies: Vec<(Reply, Answer)> = Vec::with_capacity(acts.len());
        for (request, reply) in acts {
            let answer = if world.state.act_with_id(&request.id).is_some() {
                Answer::HadIt
            } else {
                match prepare(&world, &request) {
                    Err(why) => Answer::Refused { why },
                    Ok((events, says)) => {
                        for (id, event) in events {
                            let (row, envelope) = self.seal(&world, &request, id, &event);
                            world.add(&envelope);
                            rows.push(row);
                        }
                        Answer::Taken { says }
                    }
                }
            };
            replies.push((reply, answer));
        }
        let written = self.ledger.append(&rows).map_err(BuildError::from);
        let failed = match written {
            Ok(_) => None,
            Err(error) => {
                self.chain = chain;
                let side = PlanSide::of(world.side.plan.files.clone());
                let again = envelopes(&self.ledger)
                    .map(|envelopes| World::new(side, envelopes, self.chain.writer.clone()));
                let version = world.version + 1;
                let why = match again {
                    Ok(fresh) => {
                        *world = fresh;
                        error.to_string()
                    }
                    // Nothing on the disk is lost; what is shown may be ahead of it.
                    Err(second) => format!(
                        "{error}; and the record could not be read again: {second}; start faying again"
                    ),
                };
                world.version = version;
                Some(why)
            }
        };
        self.version.store(world.version, Ordering::Release);
        drop(world);
        for (reply, answer) in replies {
            // What was refused, or known, was judged by acts that are not on the disk now: all come again.
            match &failed {
                Some(why) => reply(Err(why.clone())),
                None => reply(Ok(answer)),
            }
        }
    }

    fn seal(&mut self, world: &World, request: &ActRequest, id: String, event: &Event) -> (Row, Envelope) {
        let at = if request.at.is_empty() { clock::now() } else { request.at.clone() };
        let person = if request.person.is_empty() { "builder".to_owned() } else { request.person.clone() };
        let revision = match event {
            Event::RevisionAdopted(adopted) => adopted.number,
            _ => world.state.revision,
        };
        let mut envelope = Envelope::around(event, id, at, person, revision);
        envelope.writer.clone_from(&self.chain.writer);
        envelope.seq = self.chain.seq + 1;
        envelope.order = world.state.order + 1;
        envelope.prev = self.chain.prev.to_string();
        let bytes = envelope.to_bytes();
        let row =
            Row::seal(&self.chain.writer, envelope.seq, self.chain.prev, envelope.order, &envelope.id, bytes);
        self.chain.seq = row.seq;
        self.chain.prev = row.hash;
        (row, envelope)
    }
}

/// The events of an act: where the plan's text has changed, its adoption comes first.
fn prepare(world: &World, request: &ActRequest) -> Result<(Vec<(String, Event)>, String), String> {
    if request.id.is_empty() || request.id.len() > 80 {
        return Err("the act has no id; load the page again".to_owned());
    }
    if request.build.as_ref().is_some_and(|build| *build != world.id) {
        return Err("this act was done on a page of another build; nothing is written here".to_owned());
    }
    // A phone may have kept an act while the plan was renumbered.
    let at = if request.at.is_empty() { clock::now() } else { request.at.clone() };
    let (event, says) = match request.revision {
        Some(revision) if revision < world.revision() => {
            check(world, &request.act.renamed(|name| world.state.name_now(name, revision).to_owned()), &at)?
        }
        _ => check(world, &request.act, &at)?,
    };
    let mut events = Vec::new();
    // An act that adopts the plan is the adoption itself.
    if !world.is_adopted() && !matches!(event, Event::RevisionAdopted(_)) {
        events.push((format!("{}-plan", request.id), world.adoption().into()));
    }
    events.push((request.id.clone(), event));
    Ok((events, says))
}
