"""What the maker states: models, reading and writing the job file, its JSON Schema."""
