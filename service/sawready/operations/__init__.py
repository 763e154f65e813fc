"""For whoever runs the service: configuration of gunicorn, a unit of systemd, a container file."""
