"""From a request to a result, a stage a module; `judge` runs them.

read, observe  a file to a pattern; every check apart
causes         why a seam is off, from what was observed
grading        by one rule, the bands
repetitions    what would be said twice is said once, by what is really said
acceptance     what the plan accepts, with its reason
source_places  where in the file a finding is drawn
grouping       of findings that repeat, by what is `said`
record         of findings that are known
plugins        their loading; `hookspecs` has the hooks
workspace      judging by the settings of a folder; `jobs` over processes or any executor
"""
