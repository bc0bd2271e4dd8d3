//! A build in memory: the plan and all that follows from it, and what was done.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use faying_bench::reach::Reaches;
use faying_joint::constants::Value;
use faying_joint::{Constants, Joints};
use faying_plan::{HoleId, Plan, SourceText};
use faying_record::{Disagreement, Envelope, HoleStatus, State};
use faying_sequence::revision::{Revision, disagreements};
use faying_sequence::{Progress, Sequence, StepProgress, StepState, progress};
use faying_standards::{Finding, Length, figures};

/// The plan and everything computed from it alone.
#[derive(Debug)]
pub struct PlanSide {
    /// The plan.
    pub plan: Plan,
    /// The joint of every hole.
    pub joints: Joints,
    /// What is due at which step.
    pub sequence: Sequence,
    /// Which tools set which hole, once somebody has asked.
    reaches: OnceLock<Reaches>,
    /// Everything somebody should look at.
    pub findings: Vec<Finding>,
    /// The learned share of missing metal that it is reckoned with.
    pub missing_metal: Option<f64>,
}

impl PlanSide {
    /// Reads and computes; the same texts always give the same result.
    #[must_use]
    pub fn of(texts: Vec<SourceText>) -> Self {
        Self::with(texts, None)
    }

    /// The same with a share of missing metal that was learned and taken over.
    #[must_use]
    pub fn with(texts: Vec<SourceText>, missing_metal: Option<f64>) -> Self {
        let reading = faying_plan::read(texts);
        let mut constants = Constants::with(&reading.plan.limits);
        if let Some(share) = missing_metal {
            constants.missing_metal = Value::new(share, crate::learned::taken_over());
        }
        let joints = Joints::with(&reading.plan, constants);
        let sequence = Sequence::of(&reading.plan, &joints.stacks);
        let mut findings = reading.findings;
        findings.extend(faying_joint::check(&reading.plan, &joints));
        findings.extend(faying_sequence::check(&reading.plan, &joints.stacks, &sequence));
        // The other hand repeats what is written once.
        let mut told = HashSet::new();
        findings.retain(|finding| {
            let place =
                finding.place.as_ref().map(|place| (Arc::clone(&place.file), place.line, place.column));
            told.insert((place, finding.kind, finding.what.clone()))
        });
        Self { plan: reading.plan, joints, sequence, reaches: OnceLock::new(), findings, missing_metal }
    }

    /// Which tools set which hole.
    ///
    /// Worked out when the first run is asked for: the first page of a large build need not wait for it.
    #[must_use]
    pub fn reaches(&self) -> &Reaches {
        self.reaches.get_or_init(|| Reaches::of(&self.plan, &self.joints, &self.sequence))
    }
}

/// How far every step is, and how long that holds.
#[derive(Debug)]
struct KeptProgress {
    version: u64,
    /// When the first step has cured, seconds from 1970-01-01 00:00 UTC.
    until: i64,
    progress: Arc<Progress>,
}

/// The plan with the record folded over it.
#[derive(Debug)]
pub struct World {
    /// The plan's side, shared with whoever draws it.
    pub side: Arc<PlanSide>,
    /// What was done.
    pub state: State,
    /// Name of this copy of the build: the machine and the place.
    pub id: String,
    /// Rises with everything that changes what a page shows.
    pub version: u64,
    /// Runs that were reckoned already.
    pub(crate) runs: crate::run_memo::RunMemo,
    /// How far every step is, as it was reckoned already.
    progress: Mutex<Option<KeptProgress>>,
    /// The working order that was reckoned already.
    pub(crate) evening: crate::evening::EveningMemo,
    /// The texts that the last adopted revision holds.
    pub(crate) adopted: Vec<(String, String)>,
}

impl World {
    pub(crate) fn new(side: PlanSide, envelopes: Vec<Envelope>, id: String) -> Self {
        let mut world = Self {
            side: Arc::new(side),
            state: State::default(),
            id,
            version: 1,
            runs: crate::run_memo::RunMemo::default(),
            progress: Mutex::default(),
            evening: crate::evening::EveningMemo::default(),
            adopted: Vec::new(),
        };
        world.note_adopted(&envelopes);
        // Until the next act adopts it, a changed plan is shown as it will be once adopted.
        let renamed = world.renamed();
        world.state = State::fold_onto(&world.side.plan, envelopes, &renamed);
        world.follow_learned();
        world
    }

    /// Call-outs and heights are reckoned with the metal that was taken over last, as runs are.
    fn follow_learned(&mut self) {
        let learned = self.state.learned(crate::learned::MISSING_METAL).map(|it| it.value);
        if learned != self.side.missing_metal {
            self.side = Arc::new(PlanSide::with(self.side.plan.files.clone(), learned));
        }
    }

    fn note_adopted(&mut self, envelopes: &[Envelope]) {
        for envelope in envelopes.iter().filter(|envelope| envelope.kind == "revision-adopted") {
            if let faying_record::Event::RevisionAdopted(adopted) = envelope.event() {
                self.adopted = adopted.files;
            }
        }
    }

    pub(crate) fn add(&mut self, envelope: &Envelope) {
        self.note_adopted(std::slice::from_ref(envelope));
        self.state.add(&self.side.plan, envelope);
        self.follow_learned();
        self.version += 1;
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.side.plan
    }

    /// Whether a hole has its fastener.
    #[must_use]
    pub fn is_set(&self, hole: HoleId) -> bool {
        self.state.status(hole) == HoleStatus::Set
    }

    /// How far every step is now; reckoned once for a version of the world, and again when something has cured.
    #[must_use]
    pub fn progress(&self) -> Arc<Progress> {
        let now = crate::clock::seconds();
        let mut memo = self.progress.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = memo.as_ref()
            && kept.version == self.version
            && now < kept.until
        {
            return Arc::clone(&kept.progress);
        }
        let progress = Arc::new(progress(&self.side.plan, &self.side.sequence, &self.state, now));
        let cured = |it: &StepProgress| match it.state {
            StepState::Curing { until, .. } => Some(until),
            _ => None,
        };
        let until = progress.steps.iter().filter_map(cured).min().unwrap_or(i64::MAX);
        *memo = Some(KeptProgress { version: self.version, until, progress: Arc::clone(&progress) });
        progress
    }

    /// Whether the texts on the disk are those of the last adopted revision.
    #[must_use]
    pub fn is_adopted(&self) -> bool {
        let files = &self.side.plan.files;
        files.len() == self.adopted.len()
            && files
                .iter()
                .zip(&self.adopted)
                .all(|(file, (name, text))| *file.name == **name && *file.text == **text)
    }

    /// The plan of the last adopted revision.
    fn adopted_plan(&self) -> Plan {
        let texts = self.adopted.iter();
        let texts =
            texts.map(|(name, text)| SourceText { name: name.as_str().into(), text: text.as_str().into() });
        faying_plan::read(texts.collect()).plan
    }

    /// What was done by the last adopted revision and does not agree with the texts as they are now.
    ///
    /// Empty where they are adopted.
    #[must_use]
    pub fn disagreements(&self) -> Vec<Disagreement> {
        if self.adopted.is_empty() || self.is_adopted() {
            return Vec::new();
        }
        let old = self.adopted_plan();
        let old_joints = Joints::of(&old);
        let before = Revision { plan: &old, stacks: &old_joints.stacks };
        let now = Revision { plan: self.plan(), stacks: &self.side.joints.stacks };
        disagreements(before, now, &self.state, &self.renamed())
    }

    /// Holes that have another name than in the last adopted revision, and those whose name is another's now.
    fn renamed(&self) -> Vec<(String, String)> {
        if self.adopted.is_empty() || self.is_adopted() {
            return Vec::new();
        }
        let (old, new) = (self.adopted_plan(), self.plan());
        let mut renamed = faying_plan::difference::renamed(&old, new);
        let from: HashSet<&str> = renamed.iter().map(|(from, _)| from.as_str()).collect();
        let to: HashSet<&str> = renamed.iter().map(|(_, to)| to.as_str()).collect();
        let gone: Vec<String> = (0..old.holes.len())
            .map(HoleId::from_index)
            .filter(|&hole| {
                let name = old.hole_name(hole);
                let another_s = to.contains(name.as_str()) && !stays(&old, hole, new);
                !from.contains(name.as_str()) && (another_s || lies_elsewhere(&old, hole, new))
            })
            .map(|hole| old.hole_name(hole))
            .collect();
        renamed.extend(gone.into_iter().map(|name| (name, String::new())));
        renamed
    }

    /// The revision that the names on a page belong to: the adopted one, or the one that is about to be.
    #[must_use]
    pub fn revision(&self) -> u64 {
        self.state.revision + u64::from(!self.is_adopted())
    }

    /// The event that adopts the texts as they are now.
    pub(crate) fn adoption(&self) -> faying_record::RevisionAdopted {
        faying_record::RevisionAdopted {
            number: self.state.revision + 1,
            files: self
                .side
                .plan
                .files
                .iter()
                .map(|file| (file.name.to_string(), file.text.to_string()))
                .collect(),
            standards: figures().revision().to_owned(),
            renamed: self.renamed(),
            disagreements: self.disagreements(),
        }
    }
}

/// Whether the new plan has a hole of this name so far away that it is another hole: by its own width or more.
///
/// What moved by less, or with its whole row, is the same hole, drawn better; where it is filled, somebody is asked.
fn lies_elsewhere(old: &Plan, hole: HoleId, new: &Plan) -> bool {
    /// Of a hole whose fastener has no known width, in.
    const WIDE: f64 = 0.1875;
    let row = &old[old[hole].row];
    let wide = row.rivet.map_or(WIDE, |rivet| rivet.diameter.length().inches());
    let Some(shift) = shift(old, hole, new) else { return false };
    let with_its_row = || {
        let same = new.hole_named(&old.hole_name(hole)).map(|same| new[new[same].row].count());
        same == Some(row.count()) && row.hole_ids().all(|other| shift_is(old, other, new, shift))
    };
    shift[0].hypot(shift[1]) >= wide && !with_its_row()
}

/// How far the hole of this name lies from where it was, in; none where one of them has no place.
fn shift(old: &Plan, hole: HoleId, new: &Plan) -> Option<[f64; 2]> {
    let same = new.hole_named(&old.hole_name(hole))?;
    let ([x, y], [now_x, now_y]) = (old[hole].at?.inches(), new[same].at?.inches());
    Some([now_x - x, now_y - y])
}

fn shift_is(old: &Plan, hole: HoleId, new: &Plan, [x, y]: [f64; 2]) -> bool {
    // A plan is drawn to a thousandth.
    shift(old, hole, new).is_some_and(|[own_x, own_y]| (own_x - x).hypot(own_y - y) < 0.002)
}

/// Whether the new plan has a hole of this name at the same place.
fn stays(old: &Plan, hole: HoleId, new: &Plan) -> bool {
    // As near as the comparison of plans takes for the same place.
    let near = Length::from_inches(0.002);
    let place = new.hole_named(&old.hole_name(hole)).and_then(|same| new[same].at);
    match (old[hole].at, place) {
        (Some(a), Some(b)) => (a.x - b.x).abs() <= near && (a.y - b.y).abs() <= near,
        _ => true,
    }
}
