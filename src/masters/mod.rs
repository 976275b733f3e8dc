//! Files that leave the bench: STL, STEP.
