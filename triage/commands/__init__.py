"""The commands, one small module a group; `triage.cli` lists them and loads a module when its command is called."""
