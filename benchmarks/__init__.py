"""Fixed-size measurements, each beside a reference measured in the same run. See README.md."""
