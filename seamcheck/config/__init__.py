"""What people write in TOML, every mistake with its line: plan files, settings, rules, limits."""
