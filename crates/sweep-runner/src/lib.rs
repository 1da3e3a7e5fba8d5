//! Many descents: cases, ensembles, sweeps.
