"""From a request to a result: read, judge, grade, explain, accept, group, record; plugins, folders, many files."""
