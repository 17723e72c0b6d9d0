/* A stand-in for one function that the standard library takes random numbers from and that older versions of
 * Wine lack. For tests only: it hands the question on to the generator that they have. */

#include <windows.h>

BOOLEAN WINAPI SystemFunction036(PVOID buffer, ULONG length); /* RtlGenRandom */

__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE buffer, SIZE_T length)
{
    while (length > 0) {
        ULONG part = length > 65536 ? 65536 : (ULONG)length;
        if (!SystemFunction036(buffer, part))
            return FALSE;
        buffer += part;
        length -= part;
    }
    return TRUE;
}
