//! What is wrong with an address plan.

use super::on_feed::OnFeed;
use super::plan::{AddressPlan, PlannedModule, span_in_words};
use crate::quantity::located::{Located, quoted};
use crate::record::names::{is_same_name, key};
use std::collections::HashMap;

/// Everything that is wrong, in the order of the file.
pub fn check(plan: &AddressPlan) -> Vec<Located> {
    let mut wrong = plan.wrong.clone();
    let mut register = Register::new(plan);
    for module in &plan.modules {
        let advice = "; `musterbench layout next` proposes a free one";
        wrong.extend(register.objections(module).into_iter().map(|objection| match objection {
            Objection::Name(why) => plan.source.error(module.place.name.clone(), why),
            Objection::Setting(why) => plan.source.error(module.place.address.clone(), why),
            Objection::Owner(why) => plan.source.error(module.place.address.clone(), why + advice),
            Objection::Seated(why) => plan.source.error(module.place.serial.clone(), why),
        }));
        register.enter(module);
    }
    wrong.sort_by_key(|w| w.place.as_ref().map(|p| (p.line, p.column)));
    wrong
}

/// What speaks against a module: a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Objection {
    /// Another module has its name.
    Name(String),
    /// There is no such address, or its switches cannot be set to it.
    Setting(String),
    /// Another module has its addresses.
    Owner(String),
    /// The module that sits there sits in another place already.
    Seated(String),
}

impl Objection {
    /// The sentence.
    pub fn sentence(&self) -> &str {
        let (Objection::Name(why)
        | Objection::Setting(why)
        | Objection::Owner(why)
        | Objection::Seated(why)) = self;
        why
    }
}

/// Which names and addresses are taken, and by which module.
#[derive(Debug)]
pub struct Register<'p> {
    plan: &'p AddressPlan,
    names: HashMap<String, &'p PlannedModule>,
    owners: HashMap<OnFeed, (u16, &'p PlannedModule)>,
    seated: HashMap<(String, String), &'p PlannedModule>,
}

impl<'p> Register<'p> {
    /// Nothing is taken yet.
    pub fn new(plan: &'p AddressPlan) -> Self {
        Register { plan, names: HashMap::new(), owners: HashMap::new(), seated: HashMap::new() }
    }

    /// All modules of the plan are in it.
    pub fn of(plan: &'p AddressPlan) -> Self {
        let mut register = Register::new(plan);
        plan.modules.iter().for_each(|module| register.enter(module));
        register
    }

    /// All modules of the plan but one are in it.
    pub fn without(plan: &'p AddressPlan, name: &str) -> Self {
        let mut register = Register::new(plan);
        let others = plan.modules.iter().filter(|module| !is_same_name(&module.name, name));
        others.for_each(|module| register.enter(module));
        register
    }

    /// Takes down a module. Whoever came first keeps a name or an address.
    pub fn enter(&mut self, module: &'p PlannedModule) {
        self.names.entry(key(&module.name)).or_insert(module);
        for (address, on_feed) in module.listens_to() {
            self.owners.entry(on_feed).or_insert((address, module));
        }
        if let Some(link) = &module.link {
            self.seated.entry((key(&link.lot), key(&link.serial))).or_insert(module);
        }
    }

    /// Whether a module in it listens to this.
    pub fn is_taken(&self, on_feed: OnFeed) -> bool {
        self.owners.contains_key(&on_feed)
    }

    /// What speaks against a module beside those in it.
    pub fn objections(&self, module: &PlannedModule) -> Vec<Objection> {
        let mut found = Vec::new();
        if let Some(same) = self.names.get(&key(&module.name)) {
            let line = self.plan.source.line_of(same.place.name.start);
            let name = quoted(&module.name);
            found.push(Objection::Name(format!(
                "there is a module {name} already (line {line}): give this one another name"
            )));
        }
        match module.setting() {
            Err(why) => found.push(Objection::Setting(why)),
            Ok(_) => found.extend(self.owners_of(module).map(Objection::Owner)),
        }
        let seated = module.link.as_ref().and_then(|link| {
            let place = self.seated.get(&(key(&link.lot), key(&link.serial)))?;
            let line = self.plan.line_of(place);
            Some(format!(
                "{} of the lot {} is {} already (line {line}): a module sits in one place only",
                link.serial,
                link.lot,
                quoted(&place.name)
            ))
        });
        found.extend(seated.map(Objection::Seated));
        found
    }

    /// A sentence for each other owner of a module's addresses.
    fn owners_of(&self, module: &PlannedModule) -> impl Iterator<Item = String> {
        // Of each owner the figures, its own and ours, of the addresses that both have.
        let mut shared: Vec<(&PlannedModule, Vec<(u16, u16)>)> = Vec::new();
        for (mine, on_feed) in module.listens_to() {
            let Some((theirs, owner)) = self.owners.get(&on_feed) else { continue };
            match shared.iter_mut().find(|(known, _)| std::ptr::eq(*known, *owner)) {
                Some((_, figures)) => figures.push((mine, *theirs)),
                None => shared.push((owner, vec![(mine, *theirs)])),
            }
        }
        shared.into_iter().map(|(owner, figures)| self.two_owners(module, owner, &figures))
    }

    fn two_owners(
        &self,
        module: &PlannedModule,
        owner: &PlannedModule,
        figures: &[(u16, u16)],
    ) -> String {
        let (first, last) = (figures[0], figures[figures.len() - 1]);
        let mine = span_in_words(&(first.0..=last.0));
        let theirs = span_in_words(&(first.1..=last.1));
        let line = self.plan.source.line_of(owner.place.address.start);
        let owner = format!("{} (line {line})", quoted(&owner.name));
        let wanted = format!("{} cannot have {} {mine}", quoted(&module.name), module.format);
        if mine == theirs {
            format!("{wanted}: {owner} has {}", if figures.len() > 1 { "them" } else { "it" })
        } else {
            format!("{wanted}: on the feed that is {theirs} of {owner}, which counts differently")
        }
    }
}

#[cfg(test)]
#[path = "check/tests.rs"]
mod tests;
