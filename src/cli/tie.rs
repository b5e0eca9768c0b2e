//! `tie`: a knot on the bench, as a table of points that `read` takes.

use super::arguments::TieArguments;
use super::output::say;
use super::pull::asked;
use super::{Failure, Status};
use crate::analysis::centrelines;
use crate::analysis::reading::{Form, StitchCurve};
use crate::pull::{Test, throw, tie};
use std::fs;

pub(super) fn tie_knot(arguments: &TieArguments) -> Result<Status, Failure> {
    let (test, _) = asked(&arguments.tied)?;
    let table = centrelines::table(&curve(arguments, &test)?);
    match &arguments.output {
        Some(file) => fs::write(file, table)
            .map_err(|error| Failure::new(Status::Usage, format!("{}: {error}", file.display())))?,
        None => say(&table)?,
    }
    Ok(Status::Done)
}

fn curve(arguments: &TieArguments, test: &Test) -> Result<StitchCurve, Failure> {
    if arguments.thrown || arguments.sliding {
        let form = if arguments.sliding { Form::Sliding } else { Form::Flat };
        return throw(test, form).map_err(|untied| Failure::new(Status::Usage, untied));
    }
    let tied = tie(test).map_err(|fault| Failure::new(Status::Internal, fault))?;
    let undone = || Failure::new(Status::Usage, "while it is drawn tight the thread breaks or the knot comes open");
    tied.ok_or_else(undone)
}
