//! The kernel's times for themselves, kept by criterion from run to run; `kernel` prints the ratios.
#![allow(missing_docs, reason = "criterion's macros make undocumented functions")]

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use sim_core::kernel::Agenda;
use speed::hold::{Ahead, ByHand, hold};
use speed::mm1::{OnKernel, with_standard_heap};

fn hold_model(criterion: &mut Criterion) {
    let (ahead, steps) = (Ahead::default(), 100_000);
    let mut group = criterion.benchmark_group("hold");
    group.throughput(Throughput::Elements(steps as u64)).sample_size(20);
    for events in [10, 100, 1_000, 10_000] {
        let (mut agenda, mut handles) = (Agenda::new(), Vec::new());
        group.bench_function(BenchmarkId::new("Agenda", events), |bencher| {
            bencher.iter(|| hold(&mut agenda, &mut handles, &ahead, events, steps));
        });
        let (mut floor, mut handles) = (ByHand::default(), Vec::new());
        group.bench_function(BenchmarkId::new("standard heap by hand", events), |bencher| {
            bencher.iter(|| hold(&mut floor, &mut handles, &ahead, events, steps));
        });
    }
}

fn one_server(criterion: &mut Criterion) {
    let lorries = 50_000;
    let mut group = criterion.benchmark_group("M/M/1");
    group.throughput(Throughput::Elements(lorries)).sample_size(20);
    let (mut queue, mut agenda) = (OnKernel::new(lorries), Agenda::new());
    group.bench_function("kernel", |bencher| bencher.iter(|| queue.work(&mut agenda)));
    group.bench_function("standard heap by hand", |bencher| bencher.iter(|| with_standard_heap(lorries)));
}

criterion_group!(kernel, hold_model, one_server);
criterion_main!(kernel);
