"""What goes wrong with each kind of device: one TOML file a class, its schema, its loader and its checks."""
