/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _POSIX_C_SOURCE 200809L
#include "live/live.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

bool serving_open(struct serving *serving, const char *program, const char *book, const char *rigs)
{
  int ends[2];
  char said[4096] = "";
  size_t size = 0;
  if (pipe(ends) != 0) return false;
  serving->pid = (int)fork();
  if (serving->pid == 0) {
    dup2(ends[1], STDOUT_FILENO);
    close(ends[0]);
    execl(program, program, "serve", book, "--rig", rigs, "--port", "0", (char *)NULL);
    _exit(127);
  }
  close(ends[1]);
  serving->said = ends[0];
  const char *port = NULL;
  while (!port || !strchr(port, '/')) {
    ssize_t n = read(ends[0], said + size, sizeof said - 1 - size);
    if (n <= 0) return false;
    said[size += (size_t)n] = '\0';
    port = strstr(said, "127.0.0.1:");
  }
  serving->port = (uint16_t)strtoul(port + 10, NULL, 10);
  return serving->port != 0;
}

void serving_close(struct serving *serving)
{
  kill(serving->pid, SIGTERM);
  waitpid(serving->pid, NULL, 0);
  close(serving->said);
}

double serving_cpu_s(const struct serving *serving)
{
  char path[64], line[1024];
  unsigned long user = 0, system = 0;
  snprintf(path, sizeof path, "/proc/%d/stat", serving->pid);
  FILE *file = fopen(path, "r");
  if (!file) return 0;
  size_t n = fread(line, 1, sizeof line - 1, file);
  fclose(file);
  line[n] = '\0';
  const char *at = strrchr(line, ')');
  if (at) sscanf(at + 1, " %*c %*d %*d %*d %*d %*d %*u %*u %*u %*u %*u %lu %lu", &user, &system);
  return (double)(user + system) / (double)sysconf(_SC_CLK_TCK);
}

double serving_memory_MB(const struct serving *serving, const char *name)
{
  char path[64], line[256];
  double kB = 0;
  snprintf(path, sizeof path, "/proc/%d/status", serving->pid);
  FILE *file = fopen(path, "r");
  if (!file) return 0;
  while (fgets(line, sizeof line, file))
    if (strncmp(line, name, strlen(name)) == 0 && line[strlen(name)] == ':')
      kB = strtod(line + strlen(name) + 1, NULL);
  fclose(file);
  return kB * 1024e-6;
}

int serving_dial(const struct serving *serving, int receive_bytes)
{
  const struct sockaddr_in to = {.sin_family = AF_INET,
                                 .sin_port = htons(serving->port),
                                 .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
  const struct timeval patience = {.tv_sec = 60};
  int fd = socket(AF_INET, SOCK_STREAM, 0);
  setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  if (receive_bytes) setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &receive_bytes, sizeof receive_bytes);
  if (connect(fd, (const struct sockaddr *)&to, sizeof to) == 0) return fd;
  close(fd);
  return -1;
}

int serving_ask(const struct serving *serving, const char *method, const char *path,
                const char *form)
{
  char request[1024], reply[16384], start[16] = "";
  int fd = serving_dial(serving, 0);
  if (fd < 0) return 0;
  int size = snprintf(request, sizeof request,
                      "%s %s HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n"
                      "Content-Type: application/x-www-form-urlencoded\r\n"
                      "Content-Length: %zu\r\n\r\n%s",
                      method, path, (unsigned)serving->port, strlen(form), form);
  bool sent = send(fd, request, (size_t)size, MSG_NOSIGNAL) == size;
  for (ssize_t n; sent && (n = recv(fd, reply, sizeof reply, 0)) > 0;)
    if (!*start) snprintf(start, sizeof start, "%.15s", reply);
  close(fd);
  return strncmp(start, "HTTP/1.1 ", 9) == 0 ? atoi(start + 9) : 0;
}
