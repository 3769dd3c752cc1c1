"""The site file: TOML for people, read and checked."""
