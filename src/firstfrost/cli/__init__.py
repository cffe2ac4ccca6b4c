"""The commands, one module each; they read, call, print, and know no physics."""
