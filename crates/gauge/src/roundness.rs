//! Roundness of a traced section, and what two points and a vee-block can see of it.
