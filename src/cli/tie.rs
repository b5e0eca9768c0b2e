//! `tie`: a knot on the bench, as a table of points that `read` takes.

use super::arguments::TieArguments;
use super::output::{complain, say};
use super::pull::asked;
use super::{Failure, Status};
use crate::analysis::reading::Form;
use crate::pull::{Test, Tied, throw, tie, tied_table};
use std::fs;

pub(super) fn tie_knot(arguments: &TieArguments) -> Result<Status, Failure> {
    let (test, _) = asked(&arguments.tied)?;
    let tied = if arguments.laid { laid(&test)? } else { thrown(arguments, &test)? };
    let table = tied_table(&tied);
    match &arguments.output {
        Some(file) => fs::write(file, table)
            .map_err(|error| Failure::new(Status::Usage, format!("{}: {error}", file.display())))?,
        None => say(&table)?,
    }
    Ok(Status::Done)
}

fn thrown(arguments: &TieArguments, test: &Test) -> Result<Tied, Failure> {
    let form = if arguments.sliding { Form::Sliding } else { Form::Flat };
    let tied = throw(test, form).map_err(|untied| Failure::new(Status::Usage, untied))?;
    if let Some(found) = &tied.comes_loose {
        complain(&format!(
            "let go of, the knot comes loose and reads {found}: the table has it with its cut ends still in hand"
        ));
    }
    if tied.stands_open {
        complain("no way was found to run all hitches down to each other: one stands open on the post");
    }
    Ok(tied)
}

fn laid(test: &Test) -> Result<Tied, Failure> {
    let tied = tie(test).map_err(|fault| Failure::new(Status::Internal, fault))?;
    let undone = || Failure::new(Status::Usage, "while it is drawn tight the thread breaks or the knot comes open");
    tied.ok_or_else(undone)
}
