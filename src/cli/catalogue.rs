//! `trayful list` and `trayful show`

use super::args::{ListArgs, ShowArgs};
use super::{Failure, Session, said};
use crate::catalogue::{Catalogue, Doubt, fuller_names};
use crate::coir::soak::salts;
use crate::diagnostic::Span;
use crate::printable::within_a_line;
use crate::recipe::BUILT_IN;
use crate::report::{self, KINDS, Listing};
use crate::spelling::slips;
use crate::week::Inputs;
use std::path::Path;

pub(super) fn list(args: &ListArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let catalogue = tables(args.place.as_deref(), session)?;
    let kinds = match &args.kind {
        Some(kind) => vec![kind.as_str()],
        None => KINDS.to_vec(),
    };
    let listings: Vec<Listing> = kinds.into_iter().filter_map(|kind| report::listing(kind, &catalogue)).collect();
    write(&listings, session)
}

pub(super) fn show(args: &ShowArgs, session: &mut Session<'_>) -> Result<u8, Failure> {
    let name = within_a_line(&args.name.join(" ")).into_owned();
    let catalogue = tables(args.place.as_deref(), session)?;
    let found = report::show(&name, &catalogue);
    if found.is_empty() {
        if let Err(doubt) = catalogue.meant(&name)
            && doubt != Doubt::Unknown
        {
            let problem = catalogue.doubtful(&name, &doubt, Span::new(0, 0));
            return said(format!("{}: {}", problem.what, problem.help.unwrap_or_default()));
        }
        let others = || {
            let recipes = BUILT_IN.iter().map(|(name, _)| *name);
            let salts = salts().map(|entry| entry.salt.name.as_str());
            catalogue.trays.names().chain(catalogue.ingredients.names()).chain(recipes).chain(salts)
        };
        let names = || catalogue.crops.names().chain(others());
        let nearest = || slips(&name, names()).into_iter().next();
        // Of crops none is offered that a file would not be.
        let near = fuller_names(&name, names()).or_else(|| match nearest() {
            Some(near) if others().any(|other| other == near) => Some(format!("did you mean `{near}`?")),
            _ => catalogue.near(&name),
        });
        let near = near.unwrap_or_else(|| "`trayful list` tells what is known".to_owned());
        return said(format!("nothing is known under `{name}`; {near}"));
    }
    write(&found, session)
}

/// What ships, with the entries of a place over it, whose units hold.
fn tables(place: Option<&Path>, session: &mut Session<'_>) -> Result<Catalogue, Failure> {
    let (catalogue, standing) = Inputs { place, ..session.inputs(session.disk, &[]) }.tables()?;
    session.take_units(&standing);
    Ok(catalogue)
}

/// One after another; several in JSON make a list.
fn write(listings: &[Listing], session: &mut Session<'_>) -> Result<u8, Failure> {
    match listings {
        [one] => session.report(one, false),
        several => session.report(&report::Several(several), false),
    }
}
