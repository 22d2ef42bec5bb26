/* Ends a program that opens a socket (LD_PRELOAD). */
#include <signal.h>
#include <unistd.h>

int socket(int domain, int type, int protocol) {
    (void)domain, (void)type, (void)protocol;
    kill(getpid(), SIGKILL);
    return -1;
}
