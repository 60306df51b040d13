# The web container of docker-compose.yml. It writes to /data, /backups and /tmp alone, so its root
# file system can be read-only.
FROM python:3.12.12-slim-trixie

# Versions are Debian's to choose: a mirror keeps only the newest of a release.
# hadolint ignore=DL3008
RUN apt-get update \
    && apt-get install -y --no-install-recommends \
       libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core \
    && rm -rf /var/lib/apt/lists/*

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 PIP_NO_CACHE_DIR=1 PIP_DISABLE_PIP_VERSION_CHECK=1
WORKDIR /app
COPY requirements.txt .
RUN pip install --require-hashes -r requirements.txt

COPY manage.py ./
COPY deploy/start deploy/nightly deploy/healthy.py deploy/
COPY fixtures fixtures
COPY static static
COPY templates templates
COPY workshop workshop

ENV TAREBOOK_DATA=/data TAREBOOK_BACKUPS=/backups TAREBOOK_STATIC_ROOT=/app/staticfiles
RUN python -m workshop.core.paper.typefaces static/type \
    && SECRET_KEY=only-for-this-step python manage.py collectstatic --noinput \
    && python -m compileall -q workshop \
    && useradd --system --uid 10001 --home-dir /nonexistent --shell /usr/sbin/nologin tarebook \
    && install -d -o tarebook -g tarebook -m 0750 /data /backups

# tarebook, by number: an orchestrator that refuses root cannot look names up.
USER 10001
VOLUME /data /backups
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s CMD ["python", "deploy/healthy.py"]
CMD ["deploy/start"]
