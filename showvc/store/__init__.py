"""All of git: one place through which it is called, repositories of our own making, names, and objects read whole."""
