"""Running the installation: start, serve, backup, restore, doctor, schedules."""
