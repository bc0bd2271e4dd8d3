//! Gates: what they stand before, what they cover and what they ask for.

use std::collections::HashSet;

use super::{Resolver, suggest};
use crate::draft::{GateDraft, PutText, Reader};
use crate::keys::{self, nearest};
use crate::model::{AssemblyId, Gate, GateId, Need, NeedSort, StepId};
use crate::tree::Table;

/// What every gate asks for, in words that a plan may write and need not.
const ALWAYS: [&str; 5] = ["holes", "owed", "faults", "first-articles", "torque"];
const HOW_NEEDS: &str = "write needs = [\"inspection:NAME\", \"photograph:NAME\", \"check:NAME\"], or those of them that are meant";

impl Reader<'_> {
    /// The gates of `gates.toml`.
    pub(super) fn whole_build(&mut self, file: u16, table: &Table) -> Vec<GateDraft> {
        self.check_keys(table, &keys::GATES);
        self.head_of_file(file, table, &keys::GATES);
        self.named(table, "gates", "a gate").into_iter().map(|(name, table)| self.gate(name, table)).collect()
    }
}

impl Resolver<'_> {
    /// The gates of an assembly's file, or those of the whole build.
    pub(super) fn gates(&mut self, assembly: Option<AssemblyId>, drafts: &[GateDraft]) {
        for draft in drafts {
            let before = draft.before.as_ref().and_then(|put| self.step_of(assembly, put));
            let after: Vec<StepId> =
                draft.after.iter().filter_map(|put| self.step_of(assembly, put)).collect();
            let covers: Vec<AssemblyId> = draft.covers.iter().filter_map(|put| self.covered(put)).collect();
            let name = &draft.name.value;
            if draft.before.is_some() && !(draft.after.is_empty() && draft.covers.is_empty()) {
                let what = format!("gate {name} stands before a step, and names after or covers as well");
                let next = "keep `before`: everything that comes before that step is asked for";
                self.reader.wrong(draft.name.spot, "gate", what, next);
            }
            if draft.before.is_none() && draft.after.is_empty() && draft.covers.is_empty() {
                let what = format!("gate {name} stands before no step");
                let next = match assembly {
                    Some(_) => "write before = the step that must wait",
                    None => "write covers = the assemblies it asks for, or after or before = steps",
                };
                self.reader.wrong(draft.name.spot, "gate", what, next);
            }
            let needs = draft.needs.iter().filter_map(|put| self.need(put)).collect();
            let id = GateId::from_index(self.plan.gates.len());
            self.plan.gates.push(Gate {
                assembly,
                name: name.clone(),
                title: draft.title.clone().unwrap_or_else(|| crate::draft::spoken(name)),
                before,
                after,
                covers,
                needs,
                structure: draft.structure.unwrap_or(true),
                rule: draft.rule.clone().unwrap_or_default(),
                note: draft.note.clone().unwrap_or_default(),
                spot: draft.name.spot,
            });
            if let Some(assembly) = assembly {
                self.plan.assemblies[assembly.index()].gates.push(id);
            }
        }
    }

    /// A closing is a gate, also where the plan of its assembly writes none before it.
    pub(super) fn closings(&mut self) {
        let own = |gate: &Gate| {
            gate.before.filter(|&step| gate.assembly.is_none_or(|it| it == self.plan[step].assembly))
        };
        let guarded: HashSet<StepId> = self.plan.gates.iter().filter_map(own).collect();
        for step in (0..self.plan.steps.len()).map(StepId::from_index) {
            let it = &self.plan[step];
            if it.closes.is_empty() || guarded.contains(&step) {
                continue;
            }
            let assembly = it.assembly;
            let taken =
                |name: &str| self.plan[assembly].gates.iter().any(|&gate| self.plan[gate].name == name);
            let name = if taken(&it.name) { format!("{}-closing", it.name) } else { it.name.clone() };
            let id = GateId::from_index(self.plan.gates.len());
            self.plan.gates.push(Gate {
                assembly: Some(assembly),
                name,
                title: format!("Closing: {}", it.title),
                before: Some(step),
                after: Vec::new(),
                covers: Vec::new(),
                needs: Vec::new(),
                structure: true,
                rule: String::new(),
                note: String::new(),
                spot: it.spot,
            });
            self.plan.assemblies[assembly.index()].gates.push(id);
        }
    }

    fn step_of(&mut self, assembly: Option<AssemblyId>, put: &PutText) -> Option<StepId> {
        let Some(assembly) = assembly else {
            let step = self.plan.step_named(&put.value);
            if step.is_none() {
                let names: Vec<String> = (0..self.plan.steps.len())
                    .map(|step| self.plan.step_name(StepId::from_index(step)))
                    .collect();
                let next = suggest(&put.value, names.iter().map(String::as_str), "step");
                self.reader.wrong(
                    put.spot,
                    "unknown-name",
                    format!("there is no step \"{}\"", put.value),
                    next,
                );
            }
            return step;
        };
        let step = self.step_id(assembly, &put.value, put.spot);
        if step.is_none() {
            self.unknown_step(assembly, put);
        }
        step
    }

    fn covered(&mut self, put: &PutText) -> Option<AssemblyId> {
        let id = self.plan.assembly_named(&put.value);
        if id.is_none() {
            let names: Vec<String> = self.plan.assemblies.iter().map(|it| it.id.clone()).collect();
            let next = suggest(&put.value, names.iter().map(String::as_str), "assembly");
            self.reader.wrong(
                put.spot,
                "unknown-name",
                format!("there is no assembly \"{}\"", put.value),
                next,
            );
        }
        id
    }

    /// `inspection:spar`; none for a word that every gate asks for anyway.
    fn need(&mut self, put: &PutText) -> Option<Need> {
        if ALWAYS.contains(&put.value.as_str()) {
            return None;
        }
        let (word, name) = put.value.split_once(':').unwrap_or((&put.value, ""));
        let name = name.trim();
        if let Some(sort) = NeedSort::ALL.into_iter().find(|sort| sort.word() == word)
            && !name.is_empty()
        {
            return Some(Need { sort, name: name.to_owned() });
        }
        let words = NeedSort::ALL.iter().map(|sort| sort.word()).chain(ALWAYS);
        let next = match nearest(word, words) {
            Some(near) if ALWAYS.contains(&near) => format!("did you mean \"{near}\"?"),
            Some(near) if !name.is_empty() => format!("did you mean \"{near}:{name}\"?"),
            _ => HOW_NEEDS.to_owned(),
        };
        let what = format!("\"{}\" is not something a gate can ask for", put.value);
        self.reader.wrong(put.spot, "wrong-word", what, next);
        None
    }
}
