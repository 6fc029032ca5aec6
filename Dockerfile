# Not yet tried: written beside docker-compose.yml, proved later with it.
FROM python:3.13-slim
ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 PIP_NO_CACHE_DIR=1
WORKDIR /srv/jobsite
COPY requirements.txt .
RUN pip install -r requirements.txt
COPY . .
# Reading the settings would start the embedded server; the database named here is never asked.
RUN DATABASE_URL=postgres://nobody@localhost/none ALLOWED_HOSTS=localhost \
    SECRET_KEY=only-for-collecting-static-files-0123456789abcdefghij \
    python manage.py collectstatic --noinput \
    && mkdir -p var/files var/metrics && useradd --system --home-dir /srv/jobsite jobsite \
    && chown -R jobsite var
USER jobsite
EXPOSE 8000
# First of all the numbers of processes that are gone are taken out of this service's part of the folder.
CMD ["sh", "-c", "rm -f \"var/metrics/$METRICS_PART\"/*.db; exec gunicorn jobsite.wsgi --bind 0.0.0.0:8000 --workers 2 --threads 4 --no-control-socket"]
