// Stands for the sources of a folder whose library another build has made (ROOMWRIGHT_READY).
namespace roomwright {}
