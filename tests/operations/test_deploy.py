"""The files for whoever runs it hold together: settings that exist, paths that exist, doors that are shut."""

import re
import shutil
import subprocess

import pytest
import yaml
from django.conf import settings
from django.core.management import load_command_class

ROOT = settings.BASE_DIR
DEPLOY = ROOT / "fixtures" / "deploy"
COMPOSE = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
SERVICES = COMPOSE["services"]
KNOWN = set(re.findall(r"^#?(LONGSTAND_[A-Z_]+)=", (ROOT / ".env.example").read_text(), re.M))
UNITS = ("longstand-web.service", "longstand-worker.service")


def instructions():
    """The Containerfile's instructions with their words, continued lines joined."""
    text = (DEPLOY / "Containerfile").read_text().replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    return [(line.split()[0], line.split()[1:]) for line in lines]


def serve_options(words):
    assert words[0] == "serve"
    return load_command_class("collection", "serve").create_parser("manage.py", "serve").parse_args(words[1:])


@pytest.mark.parametrize("file", [path.name for path in DEPLOY.iterdir() if path.name != "OPERATE.txt"])
def test_every_setting_that_a_file_names_is_one_of_ours(file):
    named = set(re.findall(r"\bLONGSTAND_[A-Z_]+\b", (DEPLOY / file).read_text()))
    assert {name for name in named if not name.endswith("_")} <= KNOWN


def test_the_image_holds_what_the_program_needs_and_runs_as_nobody_in_particular():
    copied = [words for name, words in instructions() if name == "COPY" and not words[0].startswith("--")]
    for *sources, _target in copied:
        assert all((ROOT / source).exists() for source in sources)
    held = {source for *sources, _ in copied for source in sources}
    assert {"collection", "scheduler", "templates", "fixtures", "manage.py", "pyproject.toml"} <= held
    assert "tests" not in held
    users = [words[0] for name, words in instructions() if name == "USER"]
    assert users[-1] == "longstand"
    volumes = [words[0] for name, words in instructions() if name == "VOLUME"]
    environment = " ".join(" ".join(words) for name, words in instructions() if name == "ENV")
    assert f"LONGSTAND_DATA={volumes[0]}" in environment
    assert "LONGSTAND_MODE=production" in environment


def test_compose_has_pages_jobs_database_and_proxy_and_each_starts_what_there_is():
    assert set(SERVICES) == {"web", "worker", "database", "proxy"}
    web, worker = (serve_options(SERVICES[name]["command"].split()) for name in ("web", "worker"))
    assert (web.only, web.host, worker.only) == ("web", "0.0.0.0", "worker")  # noqa: S104 - inside its network
    upstream = COMPOSE["configs"]["upstream"]["content"]
    assert f"server web:{web.port};" in upstream
    inside, own = (SERVICES[name]["environment"] for name in ("worker", "database"))
    address = f"postgres://{own['POSTGRES_USER']}:${{DATABASE_PASSWORD:?make one}}@database:5432/"
    assert inside["LONGSTAND_DATABASE"] == address + own["POSTGRES_DB"]
    assert inside.items() <= SERVICES["web"]["environment"].items(), "keys and database are the same for both"
    build = SERVICES["web"]["build"]
    assert (DEPLOY / build["context"]).resolve() == ROOT
    assert (ROOT / build["dockerfile"]).is_file()


def test_only_the_proxy_is_reached_from_outside_and_the_database_from_inside_alone():
    assert [name for name, service in SERVICES.items() if service.get("ports")] == ["proxy"]
    assert COMPOSE["networks"]["inside"] == {"internal": True}
    assert SERVICES["database"]["networks"] == ["inside"]
    assert SERVICES["proxy"]["networks"] == ["outside"]
    for name in ("web", "worker"):
        assert SERVICES[name]["read_only"]
        assert SERVICES[name]["cap_drop"] == ["ALL"]
        assert SERVICES[name]["security_opt"] == ["no-new-privileges:true"]
    for service in SERVICES.values():
        for volume in service["volumes"]:
            source = volume.split(":")[0]
            assert source in COMPOSE["volumes"] or source.startswith(("./nginx", "./certificates/"))
            assert not source.startswith("./nginx") or (DEPLOY / source).is_file()


def test_no_secret_stands_in_the_files():
    for name in ("web", "worker", "database"):
        for key, value in SERVICES[name]["environment"].items():
            assert not re.search("SECRET|PASSWORD", key) or value.startswith("${"), key


def test_the_proxy_names_the_upstream_that_lies_beside_it():
    proxied = re.search(r"proxy_pass http://(\w+);", (DEPLOY / "nginx.conf").read_text())[1]
    for text in ((DEPLOY / "nginx-upstream.conf").read_text(), COMPOSE["configs"]["upstream"]["content"]):
        assert re.findall(r"^upstream (\w+) \{", text, re.M) == [proxied]


@pytest.mark.parametrize("unit", UNITS)
def test_a_unit_starts_what_there_is_and_is_shut_off_from_the_machine(unit):
    text = (DEPLOY / unit).read_text()
    words = re.search(r"^ExecStart=(.*)$", text, re.M)[1].split()
    assert words[:2] == ["/opt/longstand/.venv/bin/python", "manage.py"]
    serve_options(words[2:])
    for line in ("ProtectSystem=strict", "NoNewPrivileges=true", "CapabilityBoundingSet=", "UMask=0077"):
        assert f"\n{line}\n" in text
    if (analyze := shutil.which("systemd-analyze")) is None:
        pytest.skip("no systemd here to judge the unit")
    told = subprocess.run(  # noqa: S603 - our own file
        [analyze, "security", "--offline=yes", "--threshold=20", DEPLOY / unit],
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stdout[-2000:] + told.stderr
