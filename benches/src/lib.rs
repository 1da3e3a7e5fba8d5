//! Empty: the benchmarks live beside this folder.
