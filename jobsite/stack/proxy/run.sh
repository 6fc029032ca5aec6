#!/bin/sh
# Runs nginx in the folder WORK and keeps its list of web servers by the files in WEBS: each names one, and is touched while
# that one serves. A certificate (fullchain.pem, privkey.pem) lies in CERTIFICATES; one that was renewed is read within a day.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
: "${WORK:=/run/proxy}" "${WEBS:=/srv/webs}" "${CERTIFICATES:=/srv/certificates}"
: "${HTTP:=8080}" "${HTTPS:=8443}" "${OUTSIDE:=}" "${LARGEST:=64m}"
OLDEST=20 # seconds since a web server last said that it is there

if [ ! -r "$CERTIFICATES/fullchain.pem" ] || [ ! -r "$CERTIFICATES/privkey.pem" ]; then
  echo "No certificate: put fullchain.pem and privkey.pem into $CERTIFICATES, readable by the user of this service." >&2
  exit 1
fi
mkdir -p "$WORK"
cp "$here/away.html" "$here/refused.html" "$here/said-here.conf" "$WORK/"
for types in /etc/nginx/mime.types /usr/local/etc/nginx/mime.types; do
  if [ -r "$types" ]; then cp "$types" "$WORK/mime.types"; fi
done
sed -e "s|@HTTP@|$HTTP|" -e "s|@HTTPS@|$HTTPS|" -e "s|@OUTSIDE@|$OUTSIDE|" -e "s|@LARGEST@|$LARGEST|" \
  -e "s|@CERTIFICATES@|$CERTIFICATES|" "$here/nginx.conf" >"$WORK/nginx.conf"

list() {
  now=$(date +%s)
  found=
  for file in "$WEBS"/*; do
    [ -f "$file" ] || continue
    touched=$(stat -c %Y "$file" 2>/dev/null) || continue
    [ $((now - touched)) -lt "$OLDEST" ] || continue
    address=$(tr -dc '0-9a-f.:[]' <"$file" 2>/dev/null) || continue
    [ -n "$address" ] && found="$found    server $address max_fails=0;
"
  done
  # With none the page that says so is shown.
  [ -n "$found" ] || found="    server 127.0.0.1:9;
"
  printf 'upstream webs {\n    least_conn;\n%s}\n' "$found"
}

list >"$WORK/upstream.conf"
nginx -p "$WORK" -c "$WORK/nginx.conf" -e stderr &
nginx=$!
trap 'kill -QUIT "$nginx" 2>/dev/null; wait "$nginx"; exit 0' TERM INT
looks=0
while kill -0 "$nginx" 2>/dev/null; do
  sleep 1 &
  wait $! || true
  looks=$((looks + 1))
  list >"$WORK/upstream.new"
  if ! cmp -s "$WORK/upstream.new" "$WORK/upstream.conf" || [ $((looks % 86400)) -eq 0 ]; then
    mv "$WORK/upstream.new" "$WORK/upstream.conf"
    kill -HUP "$nginx"
  fi
done
wait "$nginx"
