"""The desktop's side of the serial line: ports, questions and answers, changes, the log."""
