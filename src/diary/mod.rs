//! An owner's own record: reading it, fitting a case to it, ranking what may be wrong.
