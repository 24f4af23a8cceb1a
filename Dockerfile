# The same minor version that the lock was made with.
FROM python:3.11-slim

ENV PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 DATA_DIR=/data

# The letters of every name on a PDF; what reportlab brings itself lacks Cyrillic.
RUN apt-get update && apt-get install -y --no-install-recommends fonts-dejavu-core && rm -rf /var/lib/apt/lists/*
RUN useradd --create-home fleet && mkdir --mode 700 /data && chown fleet /data
WORKDIR /app

# Before the code, so that a change of the code does not install everything again.
COPY requirements-run.lock .
RUN pip install --no-cache-dir --disable-pip-version-check --root-user-action=ignore \
        --require-hashes -r requirements-run.lock

COPY manage.py .
COPY fleet fleet
COPY templates templates
COPY fixtures fixtures

USER fleet
VOLUME /data
EXPOSE 8000

# Static files go under DATA_DIR, which is there only when the container runs.
CMD ["sh", "-c", "python manage.py migrate --noinput --verbosity 0 && python manage.py collectstatic --noinput --verbosity 0 && exec gunicorn fleet.wsgi --bind 0.0.0.0:8000 --workers 2 --threads 4 --keep-alive 75 --no-control-socket --log-level warning"]
