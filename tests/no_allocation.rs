//! A sweep touches the heap for nothing: an allocator that counts says so.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use dotwise::angle::CrankTurn;
use dotwise::engine::scenes::SCENES;
use dotwise::phasing::Phasing;

thread_local! {
    static TAKEN: Cell<u64> = const { Cell::new(0) };
}

/// The system's allocator, counting what this thread takes.
struct Counting;

#[expect(
    unsafe_code,
    reason = "an allocator is unsafe by its nature; this one hands everything on"
)]
// SAFETY: every call goes to the system's allocator unchanged; the count is a plain number of this
// thread's own.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        TAKEN.with(|taken| taken.set(taken.get() + 1));
        // SAFETY: the caller's promise, handed on.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        // SAFETY: the caller's promise, handed on.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

fn taken_by(work: impl FnOnce()) -> u64 {
    let before = TAKEN.with(Cell::get);
    work();
    TAKEN.with(Cell::get) - before
}

#[test]
fn a_sweep_of_any_scene_allocates_nothing() {
    for scene in &SCENES {
        let phasing = Phasing::as_drawn(&scene.engine());
        let mut sum = 0.0;
        let taken = taken_by(|| {
            sum = phasing
                .sweep(CrankTurn::new(0.5))
                .map(|reading| reading.cylinders[0].piston_drop_mm)
                .sum();
        });
        assert_eq!(taken, 0, "{}", scene.name);
        assert!(sum > 0.0);
    }
}

#[test]
fn the_counter_counts() {
    assert!(taken_by(|| drop(std::hint::black_box(vec![1_u8; 64]))) > 0);
}
