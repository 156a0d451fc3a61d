//! What every session and every request goes by, to be had from any thread.

use std::cell::Cell;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;

use jiff::Timestamp;

use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::memory::Remember;
use facts::knowledge::Knowledge;
use measure::units::Scale;
use pages::report::LocalTime;

/// What was said for all commands alike, without what belongs to one command.
#[derive(Debug, Clone)]
pub(super) struct Basis {
    units: Option<Scale>,
    overlay: Option<PathBuf>,
    store: PathBuf,
    memory: Remember,
    now: Timestamp,
    ticking: bool,
    local: LocalTime,
    knowledge: Arc<Knowledge>,
}

impl Basis {
    /// Takes it from a command line, with the knowledge base as it is now.
    ///
    /// # Errors
    /// When there is no store, or the knowledge base cannot be used.
    pub(super) fn new(context: &Context) -> Result<Self, Failure> {
        Ok(Self {
            units: context.units,
            overlay: context.overlay.clone(),
            store: context.store()?,
            memory: context.memory.clone(),
            now: context.now,
            local: context.local.clone(),
            ticking: context.ticking,
            knowledge: Arc::new(context.knowledge()?),
        })
    }

    /// What a command would go by, now.
    pub(super) fn context(&self) -> Context {
        let context = Context {
            json: false,
            detail: false,
            typed: "oddpot".to_owned(),
            units: self.units,
            of_the_job: Cell::new(None),
            overlay: self.overlay.clone(),
            jobs: Some(self.store.clone()),
            memory: self.memory.clone(),
            now: self.now,
            ticking: self.ticking,
            local: self.local.clone(),
            width: 80,
            correcting: None,
            kept: Rc::default(),
        };
        Context { now: context.time(), ..context }
    }

    /// The folder of jobs.
    pub(super) fn store(&self) -> PathBuf {
        self.store.clone()
    }

    /// The knowledge base.
    pub(super) fn knowledge(&self) -> &Knowledge {
        &self.knowledge
    }
}
