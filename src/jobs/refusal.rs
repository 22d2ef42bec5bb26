//! Turns fit and model errors into command errors with an exit status.

use super::fitted::BenchError;
use crate::model::ModelError;
use crate::model::mixed::MixedError;
use crate::terminal::exit::ExitStatus;
use crate::terminal::refusal::CliError;

impl From<BenchError> for CliError {
    fn from(error: BenchError) -> Self {
        Self::Job { message: error.to_string(), status: bench_status(&error) }
    }
}

impl From<ModelError> for CliError {
    fn from(error: ModelError) -> Self {
        BenchError::from(error).into()
    }
}

fn bench_status(error: &BenchError) -> ExitStatus {
    match error {
        BenchError::Observe(_) => ExitStatus::Failed,
        BenchError::Model(
            ModelError::Belief { .. } | ModelError::Plan { .. } | ModelError::Summary { .. },
        ) => ExitStatus::Data,
        BenchError::Model(ModelError::Engine(MixedError::FewDraws { .. })) => ExitStatus::NotEnough,
        BenchError::Model(ModelError::Engine(_)) => ExitStatus::Failed,
    }
}
