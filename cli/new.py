"""frame3d new: a job to start from."""

from pathlib import Path
from shlex import quote

import click

from .common import refuse, whole_or_refuse


@click.command("new")
@click.argument("name", type=click.Path(path_type=Path))
@click.option("--bicycle", is_flag=True, help="A whole bicycle, from its numbers.")
def command(name: Path, bicycle: bool) -> None:
    """Make the folder NAME with a commented job.toml and shop.toml that pass as they are.

    Beside them stand their JSON Schemas, from which an editor that reads their first line
    completes and checks what you write.
    """
    from frame3d.jobs.template import bicycle_text, job_text, shop_text

    from .schema import schema_text

    if name.exists():
        refuse(f"{name}: is there already, expected a name for a new folder")
    if not name.name:
        refuse(f"{name}: expected a name for a new folder")
    text = bicycle_text(name.name) if bicycle else job_text(name.name)
    with whole_or_refuse(name) as folder:
        (folder / "job.toml").write_text(text, encoding="utf-8")
        (folder / "shop.toml").write_text(shop_text(), encoding="utf-8")
        for file in ("job", "shop"):
            text = schema_text(file) + "\n"
            (folder / f"{file}.schema.json").write_text(text, encoding="utf-8")
    click.echo(f"written: {name / 'job.toml'} and {name / 'shop.toml'}")
    click.echo(f"next:    frame3d check {quote(str(name / 'job.toml'))}")
