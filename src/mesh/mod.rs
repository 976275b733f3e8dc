//! Triangle meshes with a proven chord bound, and the gate every exported mesh must pass.
