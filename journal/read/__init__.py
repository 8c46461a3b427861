"""Floor 2, the disk, once: settings, day folders, photo facts."""
