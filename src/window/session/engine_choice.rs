//! A new engine that is being chosen: layout, cylinders, crank, firing order.

use crate::description::Description;
use crate::engine::arrangement::{CrankChoice, EngineChoice, OrderChoice};

/// What has been chosen so far, and what that leaves to choose from.
#[derive(Clone, Debug)]
pub(crate) struct NewEngine {
    pub(crate) wanted: EngineChoice,
    pub(crate) cranks: Vec<CrankChoice>,
    /// The crank, where one was picked; any that suits until then.
    pub(crate) crank: Option<usize>,
    /// The orders those cranks can give, each with its crank.
    pub(crate) orders: Vec<(usize, OrderChoice)>,
    pub(crate) order: usize,
}

impl Default for NewEngine {
    fn default() -> Self {
        let mut new = Self {
            wanted: EngineChoice::default(),
            cranks: Vec::new(),
            crank: None,
            orders: Vec::new(),
            order: 0,
        };
        new.work_out_cranks();
        new
    }
}

impl NewEngine {
    /// To be called when anything before the crank was chosen anew.
    pub(crate) fn work_out_cranks(&mut self) {
        self.cranks = self.wanted.cranks();
        self.crank = None;
        self.work_out_orders();
    }

    /// To be called when the crank was chosen anew.
    pub(crate) fn work_out_orders(&mut self) {
        let cranks = self
            .cranks
            .iter()
            .enumerate()
            .filter(|(index, _)| self.crank.is_none_or(|crank| crank == *index));
        self.orders = cranks
            .flat_map(|(index, crank)| {
                self.wanted
                    .orders(&crank.throws)
                    .into_iter()
                    .map(move |order| (index, order))
            })
            .collect();
        let wanted = &self.wanted;
        self.orders
            .sort_by_cached_key(|(_, order)| wanted.rank(order));
        self.order = 0;
    }

    pub(crate) fn description(&self) -> Option<Description> {
        let (crank, order) = self.orders.get(self.order)?;
        let crank = self.cranks.get(*crank)?;
        Some(self.wanted.describe(&crank.throws, order))
    }
}
