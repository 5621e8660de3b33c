"""The commands: parse, call a stage, print, choose the exit code."""
