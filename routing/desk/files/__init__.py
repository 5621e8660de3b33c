"""The farmer's own files as documents: changed in one place and kept byte for byte everywhere else."""
