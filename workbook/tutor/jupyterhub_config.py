"""One small machine for a whole class: each learner's own copy of the workbook, by JupyterHub and its simple spawner.

Read one_machine.md first: one account runs every kernel, so this is for a closed network and an empty machine.
"""

import os
from pathlib import Path

from pondheat.front_door import copying, opening

ROOMS = Path(os.environ.get("ROOMS", opening.CLONE / "for-the-tutor" / "rooms")).resolve()
ROOMS.mkdir(parents=True, exist_ok=True)
PROXY = os.environ.get(
    "ROOM_PROXY", str(opening.CLONE / "for-the-tutor" / "node_modules" / ".bin" / "configurable-http-proxy")
)

c = get_config()  # noqa: F821 (JupyterHub puts it there)
c.JupyterHub.bind_url = os.environ.get("ROOM_URL", "http://127.0.0.1:8000")
c.JupyterHub.hub_bind_url = os.environ.get("HUB_URL", "http://127.0.0.1:8081")
c.JupyterHub.db_url = f"sqlite:///{ROOMS / 'hub.sqlite'}"
c.JupyterHub.cookie_secret_file = str(ROOMS / "cookie_secret")
c.JupyterHub.active_server_limit = 12
c.JupyterHub.concurrent_spawn_limit = 12
c.JupyterHub.cleanup_servers = True
c.ConfigurableHTTPProxy.command = [PROXY]
c.ConfigurableHTTPProxy.api_url = os.environ.get("PROXY_API_URL", "http://127.0.0.1:8001")
c.ConfigurableHTTPProxy.pid_file = str(ROOMS / "proxy.pid")
if os.environ.get("ROOM_KEY"):  # https, where there is a certificate
    c.JupyterHub.ssl_key, c.JupyterHub.ssl_cert = os.environ["ROOM_KEY"], os.environ["ROOM_CERTIFICATE"]

c.JupyterHub.authenticator_class = "shared-password"
c.SharedPasswordAuthenticator.user_password = os.environ["ROOM_WORD"]
c.SharedPasswordAuthenticator.admin_password = os.environ["TUTOR_WORD"]
c.Authenticator.admin_users = {"tutor"}
c.Authenticator.allow_all = True
c.Authenticator.username_pattern = "[a-z][a-z0-9]{1,20}"  # a name of letters: it becomes a folder

c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = str(ROOMS / "{username}")
c.Spawner.notebook_dir = str(ROOMS / "{username}" / "my-workbook")
c.Spawner.cmd = opening.jupyter_command("jupyterhub.singleuser")
c.Spawner.args = [
    *opening.lab_options(),
    "--MappingKernelManager.cull_idle_timeout=3600",
    "--MappingKernelManager.cull_interval=300",
    "--ServerApp.shutdown_no_activity_timeout=7200",
]
c.Spawner.default_url = f"/doc/tree/{opening.FIRST_PAGE}"
c.Spawner.environment = {
    "PYTHONPATH": str(opening.CLONE),
    "PYDEVD_DISABLE_FILE_VALIDATION": "1",
    "JUPYTER_CONFIG_DIR": str(ROOMS / "jupyter"),
    "OMP_NUM_THREADS": "1",
}
c.Spawner.http_timeout = c.Spawner.start_timeout = 90


def own_copy(spawner):
    """Each learner's own copy, made on first arrival and brought up to date later; the tutor's with the notes."""
    copying.update_copy(
        opening.CLONE / "workbook",
        ROOMS / spawner.user.name / "my-workbook",
        copying.read_shipped_list(),
        tutor=spawner.user.name == "tutor",
    )


c.Spawner.pre_spawn_hook = own_copy
