# NOT TRIED with a Docker engine: see docker-compose.yml.
FROM python:3.13-slim
ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 PIP_NO_CACHE_DIR=1
WORKDIR /srv/jobsite
COPY requirements.txt .
RUN pip install -r requirements.txt
COPY . .
# Reading the settings would start the embedded server; the database named here is never asked. What services write lies in
# volumes, which take over the owner of these folders when they are new; all else is read only.
RUN DATABASE_URL=postgres://nobody@localhost/none ALLOWED_HOSTS=localhost \
    SECRET_KEY=only-for-collecting-static-files-0123456789abcdefghij \
    python manage.py collectstatic --noinput \
    && mkdir -p var/files var/metrics var/webs && useradd --system --home-dir /srv/jobsite jobsite \
    && chown -R jobsite var/files var/metrics var/webs
USER jobsite
EXPOSE 8000
CMD ["python", "-m", "jobsite.web"]
