"""What docker-compose.yml runs, as processes of one computer: for trying the whole of it where no Docker engine is at hand.

PostgreSQL 18 over TCP with a password, Redis, the proxy that ends TLS, web servers, workers, one clockwork, a mail catcher.
``python -m jobsite.stack`` starts all of them; ``python -m jobsite.stack roll`` has the one that runs replace its web servers
and workers one after another, as after an upgrade.
"""
