# One image for web, worker and beat; docker-compose.yml says which it is.
FROM python:3.12-slim
ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 PIP_NO_CACHE_DIR=1 PIP_DISABLE_PIP_VERSION_CHECK=1
WORKDIR /app
COPY requirements.lock .
RUN pip install --require-hashes -r requirements.lock
COPY manage.py pyproject.toml LICENSE ./
COPY methods methods
COPY config config
COPY campaigns campaigns
COPY readings readings
COPY reports reports
COPY demo demo
COPY templates templates
COPY static static
# Static files are collected when the image is made: the running container needs no writable code.
ENV FANLIGHT_VAR=/var/lib/fanlight FANLIGHT_STATIC=/app/collected FANLIGHT_MANIFEST=yes
RUN useradd --system --create-home --home-dir /var/lib/fanlight fanlight \
 && python manage.py collectstatic --noinput \
 && chmod -R a+rX /app/collected \
 && rm -rf /var/lib/fanlight/* \
 && chown -R fanlight /var/lib/fanlight
USER fanlight
VOLUME /var/lib/fanlight
EXPOSE 8000
CMD ["python", "manage.py", "serve", "--host", "0.0.0.0", "--worker", "no"]
