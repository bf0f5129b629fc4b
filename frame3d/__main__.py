"""`python -m frame3d` is the command line, where no `frame3d` is on the path."""

from frame3d_cli.main import main

main(prog_name="frame3d")
