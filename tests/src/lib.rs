//! Empty: the checks live in `checks/`.
