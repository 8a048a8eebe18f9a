"""What people write in TOML: every mistake with its line and the nearest known key.

plan_file   the seam plan; its keys are declared in `plan_keys`
settings    a shop's settings; its keys, and those of `rules`, are declared there
rules       a shop's own rules, in the language of `rule_language`
limits      how much of a file is read
"""
