//! Blocks of arrows that fields have in common.
//!
//! Where two displays bear each other's names two cylinders have other readings, and all others what they had. So
//! their blocks at some scales are worked out once for all ways of misnaming, and with them what all have in
//! common. What is kept is recognised by what it is made of.

use std::cell::RefCell;
use std::rc::Rc;

use super::arrow::{Block, Layout, Trunk};
use super::field::Variant;

/// What is kept, by scales.
#[derive(Debug, Default)]
pub struct Stock(RefCell<Vec<Shelf>>);

/// What is kept at some scales.
#[derive(Debug)]
struct Shelf {
    scales: Scales,
    trunk: Rc<Trunk>,
    blocks: Vec<Option<Rc<Block>>>,
}

/// What is out of the ordinary, and the factors on spread and noise.
type Scales = (Variant, u64, u64);

/// What blocks that are kept belong to.
#[derive(Debug)]
pub(super) struct Stocked {
    pub(super) stock: Rc<Stock>,
    /// The arrangement that what is kept belongs to.
    pub(super) first: Rc<Layout>,
}

impl Stocked {
    /// The trunk and the blocks at some scales: those that are as in the first arrangement are taken from the stock, or
    /// put there.
    pub(super) fn at(
        &self,
        layout: &Layout,
        (variant, spread, noise): (&Variant, f64, f64),
        trunk: impl Fn() -> Trunk,
        block: impl Fn(&Trunk, usize) -> Block,
    ) -> (Rc<Trunk>, Vec<Rc<Block>>) {
        let mut shelves = self.stock.0.borrow_mut();
        let scales = (spread.to_bits(), noise.to_bits());
        let same = |shelf: &Shelf| {
            (shelf.scales.1, shelf.scales.2) == scales && shelf.scales.0 == *variant
        };
        let at = shelves.iter().position(same).unwrap_or_else(|| {
            let scales = (variant.clone(), scales.0, scales.1);
            let blocks = vec![None; self.first.blocks()];
            shelves.push(Shelf { scales, trunk: Rc::new(trunk()), blocks });
            shelves.len() - 1
        });
        let here = &mut shelves[at];
        let trunk = Rc::clone(&here.trunk);
        let mut of = |number: usize| {
            if layout.same_block(&self.first, number) {
                let known = &mut here.blocks[number];
                Rc::clone(known.get_or_insert_with(|| Rc::new(block(&trunk, number))))
            } else {
                Rc::new(block(&trunk, number))
            }
        };
        let blocks = (0..layout.blocks()).map(&mut of).collect();
        (Rc::clone(&trunk), blocks)
    }
}
